//! Rules about the people and what was done before the dive.

pub(crate) mod buddy_mismatch;
pub(crate) mod currency_lapsed;
pub(crate) mod emergency_missing;
pub(crate) mod emergency_oxygen_short;
pub(crate) mod fitness_expired;
mod in_common;
pub(crate) mod kit_clash;
pub(crate) mod preparation_open;
pub(crate) mod preparation_order;
pub(crate) mod preparation_out_of_range;
pub(crate) mod preparation_stale;
mod preparations;
pub(crate) mod rates_inconsistent;
pub(crate) mod supervision_ratio;
pub(crate) mod training_short;
