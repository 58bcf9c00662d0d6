//! Rules about depth, decompression and oxygen over time.

pub mod depth_exceeded;
pub mod oxygen_clock;
pub mod oxygen_units;
