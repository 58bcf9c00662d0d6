//! One diver's dive as plain values, and the run of it.

use std::sync::Arc;

use super::{
    Breathing, Closed, Cylinder, Exposure, Leg, Limits, LoopGas, Open, Passive, Planned, SemiClosed, State, Track, Why,
    Work, run,
};
use crate::physics::Water;
use crate::physics::transient::EXHALED_AIR_O2;

/// What a diver breathes from by plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Apparatus {
    /// A cylinder, on open circuit.
    Open(Open),
    /// A semi-closed loop.
    SemiClosed(SemiClosed),
    /// A passive loop.
    Passive(Passive),
    /// A closed loop.
    Closed(Closed),
}

impl Apparatus {
    /// The loop's volume, litres; 0 on open circuit.
    pub fn loop_l(&self) -> f64 {
        match self {
            Apparatus::Open(_) => 0.0,
            Apparatus::SemiClosed(unit) => unit.loop_l,
            Apparatus::Passive(unit) => unit.loop_l,
            Apparatus::Closed(unit) => unit.loop_l,
        }
    }

    fn boxed(&self) -> Box<dyn Breathing> {
        match *self {
            Apparatus::Open(source) => Box::new(source),
            Apparatus::SemiClosed(unit) => Box::new(unit),
            Apparatus::Passive(unit) => Box::new(unit),
            Apparatus::Closed(unit) => Box::new(unit),
        }
    }
}

/// One diver's dive: values only, so that it can be remembered by what it says.
///
/// The run's sources are the apparatus as number 0 and open circuit from cylinder `i` as number `i + 1`.
#[derive(Debug, Clone, PartialEq)]
pub struct Dive {
    /// What stands over and around the diver.
    pub water: Water,
    /// What is breathed from at the start.
    pub apparatus: Apparatus,
    /// The cylinders.
    pub cylinders: Arc<[Cylinder]>,
    /// The set-point: a fraction on a semi-closed loop, bar on a closed one.
    pub set_point: Option<f64>,
    /// Minutes of pre-breathe on a loop.
    pub pre_breathe_min: f64,
    /// Work at rest, as while pre-breathing.
    pub rest: Work,
    /// The legs.
    pub legs: Vec<Leg>,
    /// The cylinder that fills suit and wing.
    pub inflates: Option<usize>,
    /// What body and absorbent carry from before.
    pub carried: Exposure,
    /// What is watched for.
    pub limits: Limits,
}

impl Dive {
    /// The source that is open circuit from a cylinder.
    pub fn open_circuit(cylinder: usize) -> usize {
        cylinder + 1
    }

    /// All that is true before the pre-breathe.
    pub fn start(&self) -> State {
        let loop_l = self.apparatus.loop_l();
        State {
            t_min: if loop_l > 0.0 { -self.pre_breathe_min } else { 0.0 },
            water: self.water,
            bar: self.water.surface_bar,
            bar_per_min: 0.0,
            source: 0,
            set_point: self.set_point,
            breathed: LoopGas { o2: EXHALED_AIR_O2, he: 0.0, litres: loop_l * self.water.surface_bar },
            litres: self.cylinders.iter().map(|cylinder| cylinder.full_l).collect(),
            kit: Arc::clone(&self.cylinders),
            inflates: self.inflates,
            exposure: self.carried,
        }
    }

    /// The sources at hand: the apparatus, then each cylinder on open circuit.
    pub fn sources(&self) -> Vec<Box<dyn Breathing>> {
        let mut sources = vec![self.apparatus.boxed()];
        for cylinder in 0..self.cylinders.len() {
            sources.push(Box::new(Open { cylinder }));
        }
        sources
    }

    /// The legs with the pre-breathe before them.
    pub fn all_legs(&self) -> Vec<Leg> {
        let mut legs = Vec::with_capacity(self.legs.len() + 1);
        if self.apparatus.loop_l() > 0.0 && self.pre_breathe_min > 0.0 {
            legs.push(Leg::new(0.0, self.pre_breathe_min, self.rest, Why::PreBreathe));
        }
        legs.extend_from_slice(&self.legs);
        legs
    }

    /// The dive as planned.
    pub fn run(&self) -> Track {
        let legs = self.all_legs();
        run(self.start(), &mut Planned::new(&legs), &self.sources(), &self.limits)
    }

    /// The same dive with the constant feed at the low end of its tolerance: what the floor is judged by.
    #[must_use]
    pub fn at_low_feed(&self, tolerance: f64) -> Dive {
        self.with_feed(1.0 - tolerance)
    }

    /// The same dive with the constant feed at the high end of its tolerance: what endurance is judged by.
    #[must_use]
    pub fn at_high_feed(&self, tolerance: f64) -> Dive {
        self.with_feed(1.0 + tolerance)
    }

    fn with_feed(&self, factor: f64) -> Dive {
        let mut dive = self.clone();
        if let Apparatus::SemiClosed(unit) = &mut dive.apparatus {
            unit.feed.constant_lpm *= factor;
        }
        dive
    }
}

/// One thing gone worse on a dive.
pub trait Scenario {
    /// What it is called.
    fn name(&self) -> &'static str;

    /// The dive with it.
    fn worsen(&self, dive: &Dive) -> Dive;
}
