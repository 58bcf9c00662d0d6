//! Rules about the people and what was done before the dive.

pub mod rates_inconsistent;
pub mod training_short;
