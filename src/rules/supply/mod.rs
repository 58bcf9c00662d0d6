//! Rules about whether what is carried lasts.

pub mod endurance_short;
mod steady;
