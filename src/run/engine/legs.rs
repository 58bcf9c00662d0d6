//! Where a diver goes, and how hard they work.

use serde::Serialize;

use crate::physics::SetPoint;
use crate::physics::tolerance;
use crate::run::{Way, Work};

/// Why a leg is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub enum Why {
    /// Breathing the loop at the surface before the dive.
    PreBreathe,
    /// The plan's leg of this number asks for it.
    Asked(usize),
    /// A decompression stop.
    Stop,
    /// A stop on a way up that needs none.
    SafetyStop,
    /// Going over to another gas on the way up before the first stop.
    Switch,
    /// The way home.
    WayHome,
    /// The way out on open circuit.
    BailOut,
}

/// What a leg does at its start.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub enum Act {
    /// Nothing.
    #[default]
    None,
    /// Breathes from another source.
    Breathe(usize),
    /// Another set-point.
    SetPoint(SetPoint),
    /// Flushes the loop with so many of its volumes.
    Flush(f64),
    /// Leaves a cylinder behind.
    LayDown(usize),
    /// Takes it along again.
    TakeUp(usize),
    /// Takes so many free litres from a cylinder for checks before the dive.
    Check(usize, f64),
}

/// A stretch of dive: to a depth, over a time, at a work level.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Leg {
    /// The depth at its end, metres.
    pub to_m: f64,
    /// Minutes it takes; lengthened where the change of depth could not be.
    pub lasts_min: f64,
    /// How hard the diver works.
    pub work: Work,
    /// Why it is there.
    pub why: Why,
    /// What happens at its start.
    pub act: Act,
    /// Whether it makes, on its way up, the stops that the diver's tissues ask for. What it lasts is then the time
    /// without them.
    pub stops: bool,
    /// Which way it leads under something overhead.
    pub way: Option<Way>,
}

impl Leg {
    /// A leg on which nothing but time and depth changes.
    pub fn new(to_m: f64, lasts_min: f64, work: Work, why: Why) -> Leg {
        Leg { to_m, lasts_min, work, why, act: Act::None, stops: false, way: None }
    }

    /// The same with something done at its start.
    #[must_use]
    pub fn doing(self, act: Act) -> Leg {
        Leg { act, ..self }
    }

    /// The same with the stops that the tissues ask for.
    #[must_use]
    pub fn with_stops(self) -> Leg {
        Leg { stops: true, ..self }
    }

    /// The same under something overhead.
    #[must_use]
    pub fn going(self, way: Option<Way>) -> Leg {
        Leg { way, ..self }
    }

    /// The same under something overhead where it leads up from a depth, metres: who waits at a stop swims nowhere.
    #[must_use]
    pub(in crate::run) fn leading(self, way: Option<Way>, from_m: f64) -> Leg {
        let leads = self.act == Act::None && self.to_m < from_m - tolerance::DEPTH_M;
        if leads { self.going(way) } else { self }
    }

    /// Whether its numbers can be meant: finite, no time or work below 0, no depth above the surface or beyond 10 km.
    pub(in crate::run) fn is_sane(&self) -> bool {
        let meant = |x: f64| x.is_finite() && x >= 0.0;
        let act = match self.act {
            Act::None | Act::Breathe(_) | Act::LayDown(_) | Act::TakeUp(_) => true,
            Act::SetPoint(set_point) => meant(set_point.number()),
            Act::Flush(x) | Act::Check(_, x) => meant(x),
        };
        let bounded = |x: f64, most: f64| (0.0..=most).contains(&x);
        act && bounded(self.to_m, 1e4)
            && bounded(self.lasts_min, 1e6)
            && self.way.is_none_or(|way| match way {
                Way::In(known) => known.is_none_or(meant),
                Way::Out(number) | Way::Known(number) => meant(number),
            })
            && bounded(self.work.oxygen_lpm, 1e3)
            && bounded(self.work.gas_lpm, 1e4)
    }
}
