//! All that is true of one diver at one instant.

use std::sync::Arc;

use smallvec::SmallVec;

use crate::physics::loop_gas::{LOOP_VAPOUR_BAR, free_l};
use crate::physics::tolerance;
use crate::physics::transient::flushed;
use crate::physics::{Mix, SetPoint, Water};
use crate::run::{Cylinder, Exposure, Inside, Laid, Leg, Limits, LoopGas, Others, WayIn, Why};

/// Of so many cylinders what they hold is kept without a list of its own: states are made by the thousand.
const CYLINDERS: usize = 6;

/// All that is true of one diver at one instant: enough to go on from.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Minutes since leaving the surface; below 0 while pre-breathing.
    pub t_min: f64,
    /// What stands over and around the diver.
    pub water: Water,
    /// Ambient pressure, bar.
    pub bar: f64,
    /// How it changes, bar a minute.
    pub bar_per_min: f64,
    /// Which of the run's sources is breathed from.
    pub source: usize,
    /// The set-point. A loop that can't hold one of its unit has none.
    pub set_point: Option<SetPoint>,
    /// The loop's gas; it stays as it was while another source is breathed from.
    pub breathed: LoopGas,
    /// What each cylinder holds, free litres, in the order of `kit`. Below 0 where more was asked of open circuit than
    /// there was: what is lacking.
    pub litres: SmallVec<[f64; CYLINDERS]>,
    /// The cylinders.
    pub kit: Arc<[Cylinder]>,
    /// The cylinder that fills suit and wing.
    pub inflates: Option<usize>,
    /// What the body and the absorbent have taken.
    pub exposure: Exposure,
    /// What lies between the diver and where they may go up.
    pub inside: Inside,
    /// The cylinders that are not with the diver.
    pub laid: Laid,
    /// What other divers draw from the cylinders; `None` where each has its own.
    pub others: Option<Others>,
}

impl State {
    /// Depth, metres.
    pub fn depth_m(&self) -> f64 {
        self.water.depth_m(self.bar)
    }

    /// The same for a run that is only asked about gas and tissues.
    pub(in crate::run) fn with_clocks_stopped(mut self) -> State {
        self.exposure.clocks_stopped = true;
        self
    }

    /// What a cylinder's gauge shows, bar.
    pub fn gauge_bar(&self, cylinder: usize) -> Option<f64> {
        self.kit.get(cylinder)?.gauge_bar(*self.litres.get(cylinder)?)
    }

    /// Whether a cylinder, or one that is breathed evenly with it, gives gas.
    pub fn gives(&self, cylinder: usize) -> bool {
        self.together(cylinder).any(|cylinder| self.holds_gas(cylinder))
    }

    /// The cylinder that suit and wing are filled from: of several side by side the fullest.
    pub(in crate::run) fn inflating(&self) -> Option<usize> {
        let had = |cylinder: &usize| self.to_be_had_l(*cylinder);
        let fullest = self.together(self.inflates?).max_by(|a, b| had(a).total_cmp(&had(b)).then(b.cmp(a)));
        fullest.or(self.inflates)
    }

    /// A cylinder and those that are breathed evenly with it.
    pub(in crate::run) fn together(&self, cylinder: usize) -> impl Iterator<Item = usize> {
        let twins = self.kit.get(cylinder).and_then(|kit| kit.twins);
        let with = move |number: usize, kit: &Cylinder| number == cylinder || (twins.is_some() && kit.twins == twins);
        self.kit.iter().enumerate().filter(move |(number, kit)| with(*number, kit)).map(|(number, _)| number)
    }

    /// Whether a cylinder gives gas: there is one, and it holds more than what can't be had.
    fn holds_gas(&self, cylinder: usize) -> bool {
        match (self.kit.get(cylinder), self.litres.get(cylinder)) {
            (Some(kit), Some(litres)) => *litres > kit.unusable_l + tolerance::LITRES && !self.laid.has(cylinder),
            _ => false,
        }
    }

    /// Whether a cylinder gives no more, and none of the others gives gas that is not too rich to be breathed here.
    pub(in crate::run) fn has_nothing_but(&self, cylinder: usize) -> bool {
        let fits = |kit: &Cylinder| kit.mix.o2 * self.bar <= kit.filled.greatest_po2_bar + tolerance::PO2_BAR;
        !self.gives(cylinder)
            && !self.kit.iter().enumerate().any(|(other, kit)| other != cylinder && self.gives(other) && fits(kit))
    }

    /// Whether a cylinder gives gas that may be breathed here.
    pub(in crate::run) fn may_breathe(&self, cylinder: usize, limits: &Limits) -> bool {
        self.gives(cylinder) && self.suits(cylinder, limits)
    }

    /// Whether a cylinder's gas, if it gave any, might be breathed here.
    pub(in crate::run) fn suits(&self, cylinder: usize, limits: &Limits) -> bool {
        self.kit.get(cylinder).is_some_and(|kit| {
            let po2_bar = kit.mix.o2 * self.bar;
            po2_bar <= kit.filled.greatest_po2_bar + tolerance::PO2_BAR
                && po2_bar >= limits.least_bar - tolerance::PO2_BAR
        })
    }

    /// What other divers draw from a cylinder in the next minutes, free litres; nothing from one that gives none.
    pub(in crate::run) fn others_l(&self, cylinder: usize, minutes: f64) -> f64 {
        match &self.others {
            Some(others) if self.gives(cylinder) => others.litres(cylinder, self.t_min, self.t_min + minutes),
            _ => 0.0,
        }
    }

    /// Whether other divers draw from a cylinder.
    pub fn is_shared(&self, cylinder: usize) -> bool {
        self.others.as_ref().is_some_and(|others| others.cylinders().contains(&cylinder))
    }

    /// Takes litres from a cylinder at once.
    pub(in crate::run) fn take(&mut self, cylinder: usize, litres: f64) {
        if let Some(held) = self.litres.get_mut(cylinder) {
            *held -= litres;
        }
    }

    /// Puts a cylinder exactly at what can't be had.
    pub(in crate::run) fn run_dry(&mut self, cylinder: usize) {
        if let (Some(held), Some(kit)) = (self.litres.get_mut(cylinder), self.kit.get(cylinder)) {
            *held = kit.unusable_l;
        }
    }

    /// Fills the loop up from a cylinder as far as it is short, or lets out what it can't hold.
    pub(in crate::run) fn refill(&mut self, loop_l: f64, cylinder: usize) {
        let full_l = free_l(loop_l, self.bar);
        let missing = full_l - self.breathed.litres;
        if missing <= 0.0 {
            self.breathed.litres = full_l;
        } else if let Some(mix) = self.mix_that_flows(cylinder) {
            let kept = self.breathed.litres / full_l;
            self.breathed.o2 = mix.o2 + (self.breathed.o2 - mix.o2) * kept;
            self.breathed.he = mix.he + (self.breathed.he - mix.he) * kept;
            self.breathed.litres = full_l;
            self.take(cylinder, missing);
        }
    }

    /// What a cylinder still gives, free litres.
    pub(in crate::run) fn to_be_had_l(&self, cylinder: usize) -> f64 {
        match (self.litres.get(cylinder), self.kit.get(cylinder)) {
            (Some(litres), Some(kit)) => (litres - kit.unusable_l).max(0.0),
            _ => 0.0,
        }
    }

    /// Flushes the loop with so many of its volumes from a cylinder, as far as that reaches.
    pub(in crate::run) fn flush(&mut self, cylinder: usize, volumes: f64) {
        let Some(mix) = self.mix_that_flows(cylinder) else { return };
        let litres = (volumes * self.breathed.litres).min(self.to_be_had_l(cylinder));
        if litres > 0.0 {
            let volumes = litres / self.breathed.litres;
            self.breathed.o2 = flushed(self.breathed.o2, mix.o2, volumes);
            self.breathed.he = flushed(self.breathed.he, mix.he, volumes);
            self.take(cylinder, litres);
        }
    }

    /// The mix of a cylinder that still gives gas.
    pub(in crate::run) fn mix_that_flows(&self, cylinder: usize) -> Option<Mix> {
        if self.gives(cylinder) { self.kit.get(cylinder).map(|kit| kit.mix) } else { None }
    }

    /// Keeps in mind where the first stop of the way up was: a stop that a schedule asks for, deeper than any before,
    /// once the diver is there. A diver who goes below it again, or is out of the water, has none.
    pub(in crate::run) fn mark_stop(&mut self, leg: &Leg) {
        let (depth_m, surfaced) = (self.depth_m(), self.at_surface());
        let Some(body) = &mut self.exposure.body else { return };
        if surfaced {
            body.first_stop_m = 0.0;
        } else if depth_m > body.first_stop_m + tolerance::DEPTH_M {
            let at_stop = leg.why == Why::Stop && (depth_m - leg.to_m).abs() <= tolerance::DEPTH_M;
            body.first_stop_m = if at_stop { leg.to_m } else { 0.0 };
        }
    }

    /// Begins a leg that may lead in or out under something overhead.
    pub(in crate::run) fn begin_way(&mut self, leg: &Leg) {
        let piece = WayIn {
            from_m: self.depth_m().max(0.0),
            to_m: leg.to_m,
            minutes: leg.lasts_min,
            work: leg.work,
            laid: Laid::default(),
        };
        self.inside.begin(leg.way, piece);
    }

    /// Whether the diver is at the surface, to a millimetre.
    pub(in crate::run) fn at_surface(&self) -> bool {
        (self.bar - self.water.surface_bar).abs() <= 1e-4
    }

    pub(in crate::run) fn is_sane(&self) -> bool {
        let positive = |x: f64| x > 0.0 && x < 1e6;
        let fraction = |x: f64| (0.0..=1.0).contains(&x);
        positive(self.bar)
            // Where the gas of a loop is all vapour nobody dives.
            && positive(self.water.surface_bar - LOOP_VAPOUR_BAR)
            && positive(self.water.bar_per_m)
            && fraction(self.breathed.o2)
            && fraction(self.breathed.he)
            && (0.0..1e6).contains(&self.breathed.litres)
            && self.t_min.is_finite()
            && self.set_point.map(SetPoint::number).is_none_or(|number| positive(number) || number == 0.0)
            && self.litres.iter().all(|litres| litres.is_finite())
            && self.exposure.body.is_none_or(|body| body.is_sane())
    }
}
