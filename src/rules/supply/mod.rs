//! Rules about whether what is carried lasts.

pub mod bailout_hypoxic;
pub mod bailout_mod;
pub mod bailout_not_independent;
pub mod bailout_short;
pub mod descent_outruns_make_up;
mod endurance;
pub mod endurance_short;
pub(in crate::rules) mod first_end;
pub mod overfilled;
pub mod reserve_missing;
pub mod shared_ascent_short;
pub mod turn;
pub mod turn_pressure;
pub mod underfilled;
pub(in crate::rules) mod way_out;
