//! The way home: to the surface or a depth, with the stops that the tissues ask for and the gases in reach.

use std::rc::Rc;

use super::stops::{Ahead, Paces};
use crate::physics::tissues::Line;
use crate::physics::tolerance;
use crate::run::{Act, Ascent, Breathing, Leg, Limits, Open, Route, SWITCH_MIN, State, Stops, Why, Work};

/// No stop is longer, minutes; whoever would have to wait longer does not come up.
const LONGEST_STOP_MIN: usize = 1440;
/// Nor is a way home, minutes.
const LONGEST_WAY_MIN: f64 = 2880.0;

/// The worked-out way home, decided step by step from where the diver is.
///
/// A direct way up is taken where it never exceeds the limit at the gradient high. Otherwise the diver goes up along the
/// grid as long as going on to its next depth, off-gassing counted, keeps to the gradient low; where it would not is the
/// first stop. From there the gradient is linear in depth to the high one at the surface, and each stop lasts the fewest
/// whole minutes after which the way to the next keeps to it. On open circuit the diver goes over to the first gas in
/// reach that may be breathed, at a depth of the grid, which takes [`SWITCH_MIN`]; at once and wherever it is where the
/// one breathed gives no more or must not be breathed there.
#[derive(Debug)]
pub struct WayHome<'a> {
    sources: &'a [Box<dyn Breathing>],
    to_m: f64,
    stops: Option<Stops>,
    ascent: Ascent,
    /// Cylinders that may be breathed on open circuit, the preferred ones first.
    gases: &'a [usize],
    why: Why,
    /// Times of the way up, worked out when first needed unless handed in.
    paces: Option<Rc<Paces>>,
    /// What limits the way: known once it is decided whether there is a stop at all.
    line: Option<Line>,
    /// Whether the first stop is still to be found.
    seeking: bool,
    /// Minutes that are left of the stop on a way up that needs none.
    safety_min: Option<f64>,
    /// When it was begun, minutes since leaving the surface.
    begun_min: Option<f64>,
}

impl<'a> WayHome<'a> {
    /// The way to the surface; straight where no stops are asked for. `gases` are cylinders that may be breathed on open
    /// circuit, the preferred ones first.
    pub fn new(sources: &'a [Box<dyn Breathing>], stops: Option<Stops>, ascent: Ascent, gases: &'a [usize]) -> Self {
        WayHome {
            sources,
            to_m: 0.0,
            stops,
            ascent,
            gases,
            why: Why::WayHome,
            paces: None,
            line: None,
            seeking: false,
            safety_min: None,
            begun_min: None,
        }
    }

    /// The same, its way up, stops apart, said to be there for another reason.
    #[must_use]
    pub fn because(self, why: Why) -> Self {
        WayHome { why, ..self }
    }

    /// The same, up to a depth only.
    #[must_use]
    pub fn up_to(self, to_m: f64) -> Self {
        WayHome { to_m, ..self }
    }

    /// The way up along a leg that leads up, no faster than this one, with the stops that it asks for; `None` of a leg that
    /// does not lead up.
    pub(in crate::run) fn along(&self, now: &State, leg: &Leg) -> Option<WayHome<'a>> {
        let up_m = now.depth_m() - leg.to_m;
        if up_m <= tolerance::DEPTH_M || leg.lasts_min <= 0.0 {
            return None;
        }
        let rate_m_per_min = (up_m / leg.lasts_min).min(self.ascent.rate_m_per_min);
        let ascent = Ascent { rate_m_per_min, work: leg.work, ..self.ascent };
        let way = || WayHome::new(self.sources, self.stops, ascent, self.gases).because(self.why).up_to(leg.to_m);
        ascent.is_sane().then(way)
    }

    /// The same with the times of such a way up worked out before.
    pub(in crate::run) fn at_paces(self, paces: Rc<Paces>) -> Self {
        WayHome { paces: Some(paces), ..self }
    }

    /// Whether the diver is where the way leads.
    pub(in crate::run) fn arrived(&self, now: &State) -> bool {
        now.depth_m() <= self.to_m + tolerance::DEPTH_M
    }

    /// The gas to go over to, if another is preferred or the one breathed can't be gone on with; and whether it must be now.
    fn other_gas(&self, now: &State, limits: &Limits) -> Option<(usize, bool)> {
        let breathed = self.sources.get(now.source)?.open_circuit()?;
        let best = self.gases.iter().copied().find(|cylinder| now.may_breathe(*cylinder, limits))?;
        (best != breathed).then(|| (Open::source(best), !now.may_breathe(breathed, limits)))
    }

    /// A leg cut where the cylinder that is breathed runs empty, if another one could be gone over to. One that is empty
    /// already cuts none: whoever has found no other gas goes on up to where there is one.
    pub(in crate::run) fn up_to_empty(&self, now: &State, leg: Leg) -> Leg {
        let Some(source) = self.sources.get(now.source) else { return leg };
        let bar_per_min = (now.water.pressure_bar(leg.to_m) - now.bar) / leg.lasts_min;
        let regime = source.regime(&State { bar_per_min, ..now.clone() }, &leg);
        let Some(breathed) = source.open_circuit() else { return leg };
        let (Some(kit), Some(litres)) = (now.kit.get(breathed), now.litres.get(breathed)) else { return leg };
        if !self.gases.iter().any(|other| *other != breathed && now.gives(*other)) {
            return leg;
        }
        let others_l = |minutes: f64| now.others_l(breathed, minutes);
        match regime.draws.minutes_to_draw(breathed, litres - kit.unusable_l, leg.lasts_min, others_l) {
            Some(minutes) if minutes > tolerance::INSTANT_MIN && minutes < leg.lasts_min => {
                let to_m = now.depth_m() + (leg.to_m - now.depth_m()) * minutes / leg.lasts_min;
                Leg { to_m: to_m.max(0.0), lasts_min: minutes, ..leg }
            }
            _ => leg,
        }
    }

    /// Whether nothing in the tissues has held the diver so far.
    pub(in crate::run) fn was_straight(&self) -> bool {
        self.line.is_none_or(|line| !self.seeking && line.first_stop_m == 0.0)
    }

    /// Whether a way up from a state needs no stop.
    pub(in crate::run) fn is_direct(&self, now: &State) -> bool {
        let (Some(stops), Some(body)) = (self.stops, now.exposure.body) else { return true };
        let paces = self.paces.clone().unwrap_or_else(|| Rc::new(Paces::of(&self.ascent, stops.grid_m)));
        let line = Line { gradients: stops.gradients, first_stop_m: 0.0 };
        let ahead = Ahead::of(now, self.sources, self.ascent.work);
        body.first_stop_m <= 0.0
            && stops.is_sane()
            && ahead.is_some_and(|ahead| ahead.up(self.to_m, &self.ascent, &paces, &line).is_some())
    }

    /// Decides once whether there are stops.
    fn decide(&mut self, now: &State, stops: &Stops, ahead: &Ahead<'_>, paces: &Paces) -> Line {
        if let Some(line) = self.line {
            return line;
        }
        let begun = now.exposure.body.map_or(0.0, |body| body.first_stop_m);
        let direct = Line { gradients: stops.gradients, first_stop_m: 0.0 };
        let line = if begun > 0.0 {
            Line { first_stop_m: begun, ..direct }
        } else if ahead.up(self.to_m, &self.ascent, paces, &direct).is_some() {
            direct
        } else {
            self.seeking = true;
            seeking(stops)
        };
        self.line = Some(line);
        line
    }

    fn step(&mut self, now: &State, limits: &Limits, stops: &Stops, paces: &Paces) -> Option<Leg> {
        let depth = snapped_m(now.depth_m(), stops);
        let work = self.ascent.work;
        let stay = |minutes: f64| Leg::new(depth, minutes, work, Why::Stop);
        let mut ahead = Ahead::of(now, self.sources, work)?;
        let mut line = self.decide(now, stops, &ahead, paces);
        let direct = !self.seeking && line.first_stop_m == 0.0;
        if let Some((source, must)) = self.other_gas(now, limits)
            && (must || stops.on_grid(depth) && !direct)
        {
            let minutes = if must { 0.0 } else { SWITCH_MIN };
            // Before the first stop is found this is none.
            let why = if self.seeking { Why::Switch } else { Why::Stop };
            return Some(Leg { why, ..stay(minutes).doing(Act::Breathe(source)) });
        }
        if direct {
            return Some(self.safety(now, stops).unwrap_or_else(|| {
                let to_m = self.up_to_gas(now, stops, depth, limits);
                self.travel(now, to_m)
            }));
        }
        // As far as nothing holds the diver back.
        let mut at_m = depth;
        while at_m > self.to_m + tolerance::DEPTH_M {
            let next_m = stops.next_up_m(at_m, self.to_m);
            match ahead.up(next_m, &self.ascent, paces, &line) {
                Some(there) => ahead = there,
                None => break,
            }
            at_m = next_m;
            if self.may_switch_at(now, at_m, limits) {
                break;
            }
        }
        if at_m < depth - tolerance::DEPTH_M {
            return Some(self.travel(now, at_m));
        }
        if self.seeking {
            self.seeking = false;
            line = Line { gradients: stops.gradients, first_stop_m: depth };
            self.line = Some(line);
            // A way that the low gradient forbids may be open at the next depth's own.
            if ahead.up(stops.next_up_m(depth, self.to_m), &self.ascent, paces, &line).is_some() {
                return Some(stay(0.0));
            }
        }
        let next_m = stops.next_up_m(depth, self.to_m);
        let goes_on = |ahead: &Ahead<'_>| ahead.up(next_m, &self.ascent, paces, &line).is_some();
        let minutes = fewest_minutes(ahead, paces, work, goes_on)?;
        Some(self.up_to_empty(now, stay(minutes as f64)))
    }

    /// The way to a stop that none needs, or the stop, as long as it is still to be made and lies on the way.
    fn safety(&mut self, now: &State, stops: &Stops) -> Option<Leg> {
        let (stop_m, minutes) = stops.safety?;
        let depth_m = now.depth_m();
        let left = self.safety_min.get_or_insert(if depth_m > stop_m + tolerance::DEPTH_M { minutes } else { 0.0 });
        let left_min = *left;
        if left_min <= tolerance::INSTANT_MIN || stop_m <= self.to_m + tolerance::DEPTH_M {
            return None;
        }
        if depth_m > stop_m + tolerance::DEPTH_M {
            return Some(self.travel(now, stop_m));
        }
        let leg = self.up_to_empty(now, Leg::new(stop_m, left_min, self.ascent.work, Why::SafetyStop));
        self.safety_min = Some(left_min - leg.lasts_min);
        Some(leg)
    }

    /// How far up the diver goes at once where nothing holds them back: to the end, or, out of gas, to where another one may
    /// be breathed.
    fn up_to_gas(&self, now: &State, stops: &Stops, depth_m: f64, limits: &Limits) -> f64 {
        let breathed = self.sources.get(now.source).and_then(|source| source.open_circuit());
        if breathed.is_none_or(|breathed| now.gives(breathed)) {
            return self.to_m;
        }
        let mut at_m = depth_m;
        while at_m > self.to_m + tolerance::DEPTH_M {
            at_m = stops.next_up_m(at_m, self.to_m);
            if self.may_switch_at(now, at_m, limits) {
                break;
            }
        }
        at_m
    }

    /// Up towards a depth, as far as at one speed.
    fn travel(&self, now: &State, to_m: f64) -> Leg {
        let piece = self.ascent.pieces(now.depth_m(), to_m).next();
        let (to_m, minutes) = piece.map_or((to_m, 0.0), |piece| (piece.to_m, piece.minutes));
        self.up_to_empty(now, Leg::new(to_m, minutes, self.ascent.work, self.why))
    }

    /// Whether another gas would be gone over to at a depth.
    fn may_switch_at(&self, now: &State, depth_m: f64, limits: &Limits) -> bool {
        if self.gases.is_empty() {
            return false;
        }
        let there = State { bar: now.water.pressure_bar(depth_m), ..now.clone() };
        self.other_gas(&there, limits).is_some()
    }
}

/// The fewest whole minutes after which a diver may go on; `None` beyond [`LONGEST_STOP_MIN`]. Each minute is tried: who may
/// go on may not do so later, since nitrogen may come faster than helium goes.
fn fewest_minutes(here: Ahead<'_>, paces: &Paces, work: Work, goes_on: impl Fn(&Ahead<'_>) -> bool) -> Option<usize> {
    let mut later = here;
    (1..=LONGEST_STOP_MIN).find(|_| {
        later = later.waited(1, paces, work);
        goes_on(&later)
    })
}

/// A depth without the rounding of the pressure it was made from.
fn snapped_m(depth_m: f64, stops: &Stops) -> f64 {
    let grid = libm::round(depth_m / stops.grid_m) * stops.grid_m;
    let near = [grid, stops.shallowest_m].into_iter().find(|near| (depth_m - near).abs() < 1e-9);
    near.unwrap_or(depth_m)
}

/// While the first stop is sought the gradient is the low one throughout.
fn seeking(stops: &Stops) -> Line {
    let mut gradients = stops.gradients;
    gradients.high = gradients.low;
    Line { gradients, first_stop_m: 0.0 }
}

impl Route for WayHome<'_> {
    fn next(&mut self, now: &State, limits: &Limits) -> Option<Leg> {
        let depth = now.depth_m();
        let begun = *self.begun_min.get_or_insert(now.t_min);
        if self.arrived(now) || !self.ascent.is_sane() || now.t_min - begun > LONGEST_WAY_MIN {
            return None;
        }
        match self.stops {
            Some(stops) if now.exposure.body.is_some() => {
                if !stops.is_sane() {
                    return None;
                }
                let paces = self.paces.get_or_insert_with(|| Rc::new(Paces::of(&self.ascent, stops.grid_m))).clone();
                self.step(now, limits, &stops, &paces)
            }
            _ => {
                let at_once = Leg::new(depth, 0.0, self.ascent.work, Why::Stop);
                if let Some((source, true)) = self.other_gas(now, limits) {
                    return Some(at_once.doing(Act::Breathe(source)));
                }
                Some(self.travel(now, self.to_m))
            }
        }
    }
}
