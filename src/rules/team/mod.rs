//! Rules about the people and what was done before the dive.

pub mod buddy_mismatch;
pub mod currency_lapsed;
pub mod emergency_missing;
pub mod emergency_oxygen_short;
pub mod fitness_expired;
pub mod kit_clash;
mod overlaps;
pub mod preparation_open;
pub mod preparation_order;
pub mod preparation_out_of_range;
pub mod preparation_stale;
mod preparations;
pub mod rates_inconsistent;
pub mod supervision_ratio;
pub mod training_short;
