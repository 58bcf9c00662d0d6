//! Rules about depth, decompression and oxygen over time.

pub mod altitude_not_acclimatised;
pub mod ascent_fast;
mod ceiling;
pub mod ceiling_broken;
mod decompression;
pub mod decompression_long;
pub mod depth_exceeded;
pub mod descent_fast;
pub mod flight_too_soon;
pub mod gradient_missing;
pub mod interval_short;
pub mod never_surfaces;
pub mod no_stop_exceeded;
pub mod oxygen_clock;
pub mod oxygen_units;
mod rates;
pub mod reverse_profile;
pub mod stop_missing;
pub(crate) mod stuck;
