//! Rules about depth, decompression and oxygen over time.

pub mod depth_exceeded;
