//! Rules about the people and what was done before the dive.

pub mod training_short;
