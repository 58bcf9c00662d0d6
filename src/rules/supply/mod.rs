//! Rules about whether what is carried lasts.

pub mod descent_outruns_make_up;
mod endurance;
pub mod endurance_short;
