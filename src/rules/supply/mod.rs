//! Rules about whether what is carried lasts.

mod endurance;
pub mod endurance_short;
