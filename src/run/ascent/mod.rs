//! Ways up: the stops that a body needs, the way home, the way out on open circuit, and what is still to come.

pub(in crate::run) mod stops;
mod sweep;
mod to_come;
mod way_home;
mod way_out;

pub use stops::{ASCENT_RATE, Ascent, Fade, GRID_M, LONGEST_STAY_MIN, Piece, SWITCH_MIN, Stops, WayOut, no_stop_min};
pub use to_come::ToCome;
pub use way_home::WayHome;
pub use way_out::Escape;
