//! The one simulator: a diver's dive as it would go.
//!
//! [`run`] takes what is true at the start, a [`Route`] that says where to go next, and the [`Breathing`] apparatus at
//! hand, and gives a [`Track`]: the dive as pieces in closed form. Between two events every flow is constant or of a
//! known form, so an instant is asked exactly and nothing is sampled. Everything else is a call of this: a bailout from
//! any moment starts from [`Track::at`], the next dive from [`Track::end`], a failure is the same dive with a worse
//! apparatus.
//!
//! Inputs are plain values without places in any text. A diver with 12 litres of air at 200 bar, ten minutes at 20 metres:
//!
//! ```
//! use std::sync::Arc;
//!
//! use leadsman::physics::{Mix, Water};
//! use leadsman::run::{
//!     Circuit, Cylinder, Exposure, Filled, Home, Leg, Limits, Open, Profile, Purpose, Why, Work, Planned, run,
//! };
//!
//! let water = Water { surface_bar: 1.0, bar_per_m: 0.1 };
//! let back = Cylinder::new(Filled {
//!     size_l: 12.0,
//!     mix: Mix::AIR,
//!     gauge_bar: 200.0,
//!     read_c: 20.0,
//!     water_c: 20.0,
//!     surface_bar: water.surface_bar,
//!     reserve_bar: 50.0,
//!     unusable_bar: 20.0,
//!     greatest_po2_bar: 1.4,
//! })
//! .unwrap();
//! let work = Work { oxygen_lpm: 1.0, gas_lpm: 20.0 };
//! let dive = Profile {
//!     water,
//!     circuit: Circuit::Open(Open { cylinder: 0 }),
//!     cylinders: Arc::from([back]),
//!     set_point: None,
//!     pre_breathe_min: 0.0,
//!     checks_l: 0.0,
//!     rest: work,
//!     legs: vec![Leg::new(20.0, 1.0, work, Why::Asked(0)), Leg::new(20.0, 10.0, work, Why::Asked(1))],
//!     inflates: None,
//!     carried: Exposure::default(),
//!     home: Home::default(),
//!     limits: Limits::default(),
//!     others: Arc::from([]),
//! };
//! let track = run(dive.start(), &mut Planned::new(&dive.legs), &dive.sources(), &dive.limits);
//!
//! // A minute down at 2 bar in the mean, ten at 3 bar.
//! assert!((track.used_l(0, Purpose::OpenCircuit) - (40.0 + 600.0)).abs() < 1e-6);
//! ```
//!
//! Any instant of the run can be asked, between the ends of legs too:
//!
//! ```
//! # use std::sync::Arc;
//! # use leadsman::physics::{Mix, Water, SetPoint};
//! # use leadsman::physics::loop_balance::{Feed, steady_o2};
//! # use leadsman::run::*;
//! # let water = Water { surface_bar: 1.0, bar_per_m: 0.1 };
//! # let supply = Cylinder::new(Filled {
//! #     size_l: 7.0, mix: Mix { o2: 0.36, he: 0.0 }, gauge_bar: 200.0, read_c: 20.0, water_c: 20.0, surface_bar: 1.0,
//! #     reserve_bar: 50.0, unusable_bar: 20.0, greatest_po2_bar: 1.4,
//! # }).unwrap();
//! # let work = Work { oxygen_lpm: 1.2, gas_lpm: 25.0 };
//! // A loop of 5 litres fed with 10 free litres of 36 % a minute, whose diver uses 1.2 of oxygen.
//! let unit = SemiClosed {
//!     loop_l: 5.0,
//!     feed: Feed { constant_lpm: 10.0, controlled_lpm: 0.0 },
//!     make_up_lpm: f64::INFINITY,
//!     supply: 0,
//!     scrubber: Scrubber::default(),
//! };
//! # let dive = Profile {
//! #     water, circuit: Circuit::SemiClosed(unit), cylinders: Arc::from([supply]), set_point: None,
//! #     pre_breathe_min: 5.0, checks_l: 0.0, rest: Work { oxygen_lpm: 0.5, gas_lpm: 10.0 },
//! #     legs: vec![Leg::new(15.0, 1.0, work, Why::Asked(0)), Leg::new(15.0, 60.0, work, Why::Asked(1))],
//! #     inflates: None, carried: Exposure::default(), home: Home::default(), limits: Limits::default(), others: Arc::from([]),
//! # };
//! let track = run(dive.start(), &mut Planned::new(&dive.legs), &dive.sources(), &dive.limits);
//! let now = track.at(55.0);
//!
//! // It has long come to where feed and diver are even: (10 · 0.36 − 1.2) / (10 − 1.2).
//! assert!((now.breathed.o2 - 2.4 / 8.8).abs() < 1e-6);
//! assert_eq!(now.depth_m().round(), 15.0);
//! ```

mod apparatus;
mod ascent;
mod contingency;
mod engine;
mod profile;
mod shared;
mod with_stops;

pub use apparatus::{Breathing, Closed, Open, Passive, SemiClosed};
pub use ascent::{
    ASCENT_RATE, Ascent, Escape, Fade, GRID_M, LONGEST_STAY_MIN, Piece, SWITCH_MIN, Stops, ToCome, WayHome, WayOut,
    no_stop_min,
};
pub use contingency::{Buddy, Margin, Outcome, REACT_MIN, Trials, Trouble, outcomes, story};
#[cfg(debug_assertions)]
pub use engine::runs_so_far;
pub use engine::{
    Act, Along, Body, Breath, ClockFloor, Crossing, Cylinder, Draw, Draws, Ended, Event, EventKind, Exposure, Extremes,
    FOLLOWED_BAR, Filled, Halt, Inside, Laid, Leg, Limits, LoopGas, Others, Planned, Purpose, Regime, Route, Scrubber,
    Segment, Sharing, Spent, State, Stuck, Track, Volume, Way, WayIn, Why, Work, run,
};
pub use profile::{Circuit, Home, Profile, Scenario};
pub use with_stops::WithStops;
