//! What contingencies are tried with.

use serde::Serialize;

use crate::run::Work;

/// What contingencies are tried with.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Trials {
    /// Minutes from an alarm to leaving the loop.
    pub react_min: f64,
    /// How much deeper the dive must also hold, metres.
    pub deeper_m: f64,
    /// How much longer, minutes.
    pub longer_min: f64,
    /// The hardest work, and the one after it.
    pub peak: Work,
    /// What follows five minutes of it.
    pub heavy: Work,
    /// What a breathless diver breathes while solving the problem, free litres a minute at the surface.
    pub breathless_lpm: f64,
    /// For how long, minutes, before the way up.
    pub breathless_min: f64,
    /// Within so many minutes of the way up it is over.
    pub fades_min: f64,
    /// Whether the gas must do for a buddy, too.
    pub buddy: Buddy,
}

/// Whether a diver's way out must do for a buddy, too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum Buddy {
    /// There is none.
    None,
    /// There is one with a way out of their own: it is worth knowing.
    #[default]
    Told,
    /// It must.
    Asked,
}

/// Minutes from an alarm to leaving the loop where a plan says none (common practice, no source).
pub const REACT_MIN: f64 = 3.0;

/// What a breathless diver breathes where a plan says nothing, free litres a minute at the surface (common practice, no source).
const BREATHLESS_LPM: f64 = 75.0;
/// For how long at depth, minutes (common practice, no source).
const BREATHLESS_MIN: f64 = 2.0;
/// How soon that is over on the way up, minutes (common practice, no source).
const FADES_MIN: f64 = 5.0;

impl Default for Trials {
    fn default() -> Trials {
        let (peak, heavy) = (Work::default(), Work::default());
        Trials {
            react_min: REACT_MIN,
            deeper_m: 0.0,
            longer_min: 0.0,
            peak,
            heavy,
            breathless_lpm: BREATHLESS_LPM,
            breathless_min: BREATHLESS_MIN,
            fades_min: FADES_MIN,
            buddy: Buddy::default(),
        }
    }
}
