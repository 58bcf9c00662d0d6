//! What a run watches for.

use serde::Serialize;

/// The values whose crossing is told, and the bounds of a run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Limits {
    /// Least loop oxygen, a fraction; 0 for none.
    pub floor_o2: f64,
    /// Points that a controlled loop's oxygen swings about its set-point, a fraction.
    pub band_o2: f64,
    /// Least partial pressure of oxygen, bar.
    pub least_bar: f64,
    /// At this partial pressure a diver may faint, bar.
    pub faint_bar: f64,
    /// Greatest partial pressure of oxygen while working, bar.
    pub greatest_bar: f64,
    /// Rated minutes of absorbent that may be used; infinite where nothing is known.
    pub absorbent_min: f64,
    /// No run goes on for longer, minutes.
    pub longest_min: f64,
    /// No run has more pieces.
    pub segments: usize,
    /// Whether the run is only asked for its end: its pieces are not kept, and nothing is watched for.
    pub end_only: bool,
}

impl Limits {
    /// Nothing to watch for: for runs that are only asked where they lead.
    pub(in crate::run) fn unwatched() -> Limits {
        Limits { least_bar: 0.0, faint_bar: 0.0, greatest_bar: f64::INFINITY, ..Limits::default() }
    }
}

impl Default for Limits {
    /// No floor, one point of band, 0.18 and 0.16 bar at the low end, 1.4 at the high end, absorbent not counted.
    fn default() -> Limits {
        Limits {
            floor_o2: 0.0,
            band_o2: 0.01,
            least_bar: 0.18,
            faint_bar: 0.16,
            greatest_bar: 1.4,
            absorbent_min: f64::INFINITY,
            longest_min: 100_000.0,
            segments: 20_000,
            end_only: false,
        }
    }
}
