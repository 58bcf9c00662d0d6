//! Rules about depth, decompression and oxygen over time.

pub(crate) mod altitude_not_acclimatised;
pub(crate) mod ascent_fast;
mod ceiling;
pub(crate) mod ceiling_broken;
mod decompression;
pub(crate) mod decompression_long;
pub(crate) mod depth_exceeded;
pub(crate) mod descent_fast;
pub(crate) mod dives_overlap;
pub(crate) mod flight_too_soon;
pub(crate) mod gradient_missing;
pub(crate) mod interval_short;
pub(crate) mod never_surfaces;
pub(crate) mod no_stop_exceeded;
pub(crate) mod oxygen_clock;
pub(crate) mod oxygen_units;
mod rates;
pub(crate) mod reverse_profile;
pub(crate) mod stop_missing;
pub(crate) mod stuck;
