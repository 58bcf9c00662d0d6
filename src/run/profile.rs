//! One diver's dive as plain values.

use std::sync::Arc;

use serde::Serialize;

use super::{
    Act, Ascent, Breathing, Closed, Cylinder, Exposure, Inside, Laid, Leg, Limits, LoopGas, Open, Passive, SemiClosed,
    State, Stops, Trials, WayOut, Why, Work,
};
use crate::physics::loop_gas::free_l;
use crate::physics::transient::EXHALED_AIR_O2;
use crate::physics::{SetPoint, Water};

/// What a diver breathes from by plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Circuit {
    /// A cylinder, on open circuit.
    Open(Open),
    /// A semi-closed loop.
    SemiClosed(SemiClosed),
    /// A passive loop.
    Passive(Passive),
    /// A closed loop.
    Closed(Closed),
}

impl Circuit {
    /// The loop's volume, litres; 0 on open circuit.
    pub fn loop_l(&self) -> f64 {
        match self {
            Circuit::Open(_) => 0.0,
            Circuit::SemiClosed(unit) => unit.loop_l,
            Circuit::Passive(unit) => unit.loop_l,
            Circuit::Closed(unit) => unit.loop_l,
        }
    }

    /// The cylinder that feeds the loop, a closed one's diluent; `None` on open circuit.
    pub fn feeds(&self) -> Option<usize> {
        match self {
            Circuit::Open(_) => None,
            Circuit::SemiClosed(unit) => Some(unit.supply),
            Circuit::Passive(unit) => Some(unit.supply),
            Circuit::Closed(unit) => Some(unit.diluent),
        }
    }

    fn boxed(&self) -> Box<dyn Breathing> {
        match *self {
            Circuit::Open(source) => Box::new(source),
            Circuit::SemiClosed(unit) => Box::new(unit),
            Circuit::Passive(unit) => Box::new(unit),
            Circuit::Closed(unit) => Box::new(unit),
        }
    }
}

/// One diver's dive: values only, so that it can be remembered by what it says.
///
/// The run's sources are the apparatus as number 0 and open circuit from cylinder `i` as number `i + 1`.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// What stands over and around the diver.
    pub water: Water,
    /// What is breathed from at the start.
    pub circuit: Circuit,
    /// The cylinders.
    pub cylinders: Arc<[Cylinder]>,
    /// The set-point.
    pub set_point: Option<SetPoint>,
    /// Minutes of pre-breathe on a loop.
    pub pre_breathe_min: f64,
    /// Gas that checks before the dive take from what feeds the loop, free litres.
    pub checks_l: f64,
    /// Work at rest, as while pre-breathing.
    pub rest: Work,
    /// The legs.
    pub legs: Vec<Leg>,
    /// The cylinder that fills suit and wing.
    pub inflates: Option<usize>,
    /// What body and absorbent carry from before.
    pub carried: Exposure,
    /// What ways home are worked out from.
    pub home: Home,
    /// What is watched for.
    pub limits: Limits,
    /// The dives of those who draw from one of these cylinders too, by [`Cylinder::common`]; they have no others.
    pub others: Arc<[Profile]>,
}

/// What the ways home of a dive are worked out from.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Home {
    /// How stops are; `None` where nothing says it: then every way up is straight.
    pub stops: Option<Stops>,
    /// Whether these are the fewest stops that any gradient asks for, at 100/100, since the plan gives none. A dive that
    /// fails with them fails; nobody is shown them as a plan's.
    pub fewest_stops: bool,
    /// Cylinders that a diver on open circuit by plan goes over to on the way up, the preferred ones first.
    pub planned: Vec<usize>,
    /// Cylinders to get out on from a loop or in need, the preferred ones first.
    pub way_out: Vec<usize>,
    /// How the planned way home is gone.
    pub ascent: Ascent,
    /// How the diver gets out on open circuit; `None` where nothing says what they breathe.
    pub out: Option<WayOut>,
    /// How fast the way back from under something overhead is swum against the way in; as fast unless said.
    pub exit_pace: Option<f64>,
    /// Those of the cylinders that are for decompression.
    pub deco: Vec<usize>,
    /// Those of the cylinders that a buddy carries, for whoever is in need.
    pub spare: Vec<usize>,
    /// What contingencies are tried with.
    pub trials: Trials,
}

impl Home {
    /// Stops are made at multiples of this depth, metres.
    pub(in crate::run) fn grid_m(&self) -> f64 {
        self.stops.map_or(super::GRID_M, |stops| stops.grid_m)
    }
}

impl Profile {
    /// All that is true before the pre-breathe.
    pub fn start(&self) -> State {
        let loop_l = self.circuit.loop_l();
        State {
            t_min: if loop_l > 0.0 { -self.pre_breathe_min } else { 0.0 },
            water: self.water,
            bar: self.water.surface_bar,
            bar_per_min: 0.0,
            source: 0,
            set_point: self.set_point,
            breathed: LoopGas { o2: EXHALED_AIR_O2, he: 0.0, litres: free_l(loop_l, self.water.surface_bar) },
            litres: self.cylinders.iter().map(|cylinder| cylinder.full_l).collect(),
            kit: Arc::clone(&self.cylinders),
            inflates: self.inflates,
            exposure: self.carried,
            inside: Inside::default(),
            laid: Laid::default(),
            others: None,
        }
    }

    /// The sources at hand: the apparatus, then each cylinder on open circuit.
    pub fn sources(&self) -> Vec<Box<dyn Breathing>> {
        let mut sources = vec![self.circuit.boxed()];
        for cylinder in 0..self.cylinders.len() {
            sources.push(Box::new(Open { cylinder }));
        }
        sources
    }

    /// The legs with checks and pre-breathe before them.
    pub fn all_legs(&self) -> Vec<Leg> {
        let mut legs = Vec::with_capacity(self.legs.len() + 2);
        if let Some(feeds) = self.circuit.feeds()
            && self.checks_l > 0.0
        {
            let check = Leg::new(0.0, 0.0, self.rest, Why::PreBreathe);
            legs.push(check.doing(Act::Check(feeds, self.checks_l)));
        }
        if self.circuit.loop_l() > 0.0 && self.pre_breathe_min > 0.0 {
            legs.push(Leg::new(0.0, self.pre_breathe_min, self.rest, Why::PreBreathe));
        }
        legs.extend_from_slice(&self.legs);
        legs
    }

    /// The same dive with the constant feed at the low end of its tolerance: what the floor is judged by.
    #[must_use]
    pub fn at_low_feed(&self, tolerance: f64) -> Profile {
        self.with_feed(1.0 - tolerance)
    }

    /// The same dive with the constant feed at the high end of its tolerance: what endurance is judged by.
    #[must_use]
    pub fn at_high_feed(&self, tolerance: f64) -> Profile {
        self.with_feed(1.0 + tolerance)
    }

    fn with_feed(&self, factor: f64) -> Profile {
        self.alike(|dive| {
            if let Circuit::SemiClosed(unit) = &mut dive.circuit {
                unit.feed.constant_lpm *= factor;
            }
        })
    }
}

/// One thing gone worse on a dive.
pub trait Scenario {
    /// What it is called.
    fn name(&self) -> &'static str;

    /// The dive with it.
    fn worsen(&self, dive: &Profile) -> Profile;
}
