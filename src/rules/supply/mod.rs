//! Rules about whether what is carried lasts.

pub mod bailout_short;
pub mod descent_outruns_make_up;
mod endurance;
pub mod endurance_short;
pub mod turn;
pub mod turn_pressure;
