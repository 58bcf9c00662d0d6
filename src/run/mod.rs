//! The one simulator: a diver's dive as it would go.
//!
//! [`run`] takes what is true at the start, a [`Route`] that says where to go next, and the [`Breathing`] apparatus at
//! hand, and gives a [`Track`]: the dive as pieces in closed form. Between two events every flow is constant or of a
//! known form, so an instant is asked exactly and nothing is sampled. Everything else is a call of this: a bailout from
//! any moment starts from [`Track::at`], the next dive from [`Track::end`], a failure is the same dive with a worse
//! apparatus.
//!
//! Inputs are plain values without places in any text.

mod apparatus;
mod ascent;
mod contingency;
mod engine;
mod failure;
mod profile;

pub use apparatus::{Breathing, Closed, Open, Passive, SemiClosed};
pub use ascent::{
    ASCENT_RATE, Ascent, Escape, GRID_M, LONGEST_STAY_MIN, SWITCH_MIN, Stops, ToCome, WayHome, WayOut, no_stop_min,
};
pub use contingency::{BREATHLESS_LPM, Margin, Outcome, REACT_MIN, Trials, Trouble, outcomes, story};
pub use engine::{
    Act, Body, Breath, ClockFloor, Crossing, Cylinder, Draw, Draws, Ended, Event, EventKind, Exposure, Extremes,
    FOLLOWED_BAR, Filled, Halt, Leg, Limits, LoopGas, Others, Planned, Purpose, Regime, Route, Scrubber, Segment,
    Spent, State, Stuck, Track, Volume, Why, Work, run,
};
pub use failure::{FeedFails, FeedFailure, feed_failure};
pub use profile::{Circuit, Home, Profile, Scenario, WithStops};
