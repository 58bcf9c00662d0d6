//! Rules about whether what is carried lasts.

pub(crate) mod bailout_hypoxic;
pub(crate) mod bailout_mod;
pub(crate) mod bailout_not_independent;
pub(crate) mod bailout_short;
pub(crate) mod descent_outruns_make_up;
mod endurance;
pub(crate) mod endurance_short;
pub(in crate::rules) mod first_end;
pub(crate) mod overfilled;
pub(crate) mod reserve_missing;
pub(crate) mod shared_ascent_short;
pub(crate) mod stage_out_of_reach;
pub(crate) mod turn;
pub(crate) mod turn_pressure;
pub(crate) mod underfilled;
pub(crate) mod way_in_long;
pub(crate) mod way_in_unanswered;
pub(in crate::rules) mod way_out;
