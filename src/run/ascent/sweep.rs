//! The way out from every minute of a dive, in as few runs as tell all of them.
//!
//! Along a stay ways up that need no stop differ in nothing but the gas that is left behind. So the way out is asked of a
//! diver who has in each compartment the most of all the minutes: where nothing holds that diver, nothing holds one who
//! has less, who goes the same way and draws the same. Where something does, a stay is halved, and what is left of it is
//! asked minute by minute: with stops there is no telling, since the first stop's depth goes by the grid, and a deeper one
//! may be the shorter way.

use std::ops::Range;
use std::rc::Rc;

use super::stops::Paces;
use super::way_out::Escape;
use crate::physics::tolerance;
use crate::run::{Breathing, Profile, State, Track, WayOut};

/// So few minutes are asked one by one.
const FEW: usize = 3;

/// The ways out from some moments of a run, as far as they are known.
pub(super) struct Sweep<'a> {
    dive: &'a Profile,
    out: &'a WayOut,
    sources: Vec<Box<dyn Breathing>>,
    paces: Rc<Paces>,
    states: Vec<State>,
    known: Vec<Option<Told>>,
}

/// The way out from a moment, and whether others may be told by it.
type Told = (Escape, bool);

impl<'a> Sweep<'a> {
    pub(super) fn of(dive: &'a Profile, track: &Track, out: &'a WayOut, moments: &[f64]) -> Sweep<'a> {
        Sweep {
            dive,
            out,
            sources: dive.sources(),
            paces: Rc::new(Paces::of(&out.ascent, dive.home.grid_m())),
            states: moments.iter().map(|t_min| track.without_clocks_at(*t_min)).collect(),
            known: vec![None; moments.len()],
        }
    }

    /// All of them, stay by stay.
    pub(super) fn by_stays(mut self) -> Vec<Escape> {
        let mut from = 0;
        for next in 1..=self.states.len() {
            let goes_on = match (self.states.get(next - 1), self.states.get(next)) {
                (Some(before), Some(state)) => self.differ_in_gas_alone(before, state),
                _ => false,
            };
            if !goes_on {
                self.settle(from..next);
                from = next;
            }
        }
        self.one_by_one()
    }

    /// All of them, each that is not known by a run of its own.
    pub(super) fn one_by_one(mut self) -> Vec<Escape> {
        for number in 0..self.states.len() {
            self.ask(number);
        }
        self.known.into_iter().flatten().map(|(escape, _)| escape).collect()
    }

    /// Whether the ways out from two moments in turn are told apart by nothing but what is in the tissues and the cylinders.
    fn differ_in_gas_alone(&self, before: &State, after: &State) -> bool {
        let first_stop_m = |state: &State| state.exposure.body.map(|body| body.first_stop_m);
        // Of cylinders that are breathed evenly the fuller one gives more.
        let alone = after.kit.iter().all(|kit| kit.twins.is_none());
        let gives = |state: &State| (0..state.kit.len()).map(|cylinder| state.gives(cylinder)).collect::<Vec<_>>();
        before.bar == after.bar
            && before.source == after.source
            && before.laid == after.laid
            && before.inflates == after.inflates
            && first_stop_m(before) == first_stop_m(after)
            && before.others.is_none()
            && after.others.is_none()
            && alone
            && [before, after].into_iter().all(|state| state.inside.way_back(state.depth_m().max(0.0)).is_empty())
            && gives(before) == gives(after)
    }

    /// Finds what one run tells of many of these moments, which lie on one stay.
    fn settle(&mut self, stay: Range<usize>) {
        if stay.len() <= FEW {
            return;
        }
        let (first, last) = (stay.start, stay.end - 1);
        let tells_last = self.ask(last);
        if tells_last && self.is_told(&stay) {
            return;
        }
        // Held at both ends, most likely so all along.
        if !tells_last && !self.ask(first) {
            return;
        }
        let middle = stay.start + stay.len() / 2;
        self.settle(first..middle);
        self.settle(middle..last);
    }

    /// Runs the way out from a moment unless it is known; whether others may be told by it.
    fn ask(&mut self, number: usize) -> bool {
        let (Some(state), Some(known)) = (self.states.get(number), self.known.get_mut(number)) else { return false };
        let run = || self.dive.escape_and_whether_told(state.clone(), &self.sources, self.out, self.paces.clone());
        known.get_or_insert_with(run).1
    }

    /// Whether all moments of a stay are told by the way out from its last one.
    fn is_told(&mut self, stay: &Range<usize>) -> bool {
        let Some((last, before)) = self.states.get(stay.clone()).and_then(<[State]>::split_last) else { return false };
        let (told, way) = match self.known.get_mut(stay.clone()).and_then(<[Option<Told>]>::split_last_mut) {
            Some((Some((way, _)), told)) => (told, &*way),
            _ => return false,
        };
        let less = |state: &State| state.litres.iter().zip(&last.litres).any(|(held, then)| held < then);
        if before.iter().any(less) {
            return false;
        }
        let mut most = last.clone();
        if let Some(body) = &mut most.exposure.body {
            for state in before {
                let Some(other) = state.exposure.body else { return false };
                body.tissues = body.tissues.worse(&other.tissues);
            }
        }
        let same = most.exposure.body == last.exposure.body;
        let holds = || self.dive.escape_and_whether_told(most, &self.sources, self.out, self.paces.clone()).1;
        if !same && !holds() {
            return false;
        }
        for (told, state) in told.iter_mut().zip(before) {
            *told = Some((way.taken_from(self.dive, state), false));
        }
        true
    }
}

impl Profile {
    /// The way out from every minute of a run of this dive and from the end of each of its legs, in order of time: from
    /// leaving the surface until the diver is back there.
    pub fn escapes(&self, track: &Track, out: &WayOut) -> Vec<Escape> {
        Sweep::of(self, track, out, &moments(track)).by_stays()
    }

    /// The same, each by a run of its own: what [`Profile::escapes`] is held to.
    #[doc(hidden)]
    pub fn escapes_one_by_one(&self, track: &Track, out: &WayOut) -> Vec<Escape> {
        Sweep::of(self, track, out, &moments(track)).one_by_one()
    }
}

/// A dive has no more moments to get out from than this, beside the ends of its legs: one of more than four hours is asked
/// every few minutes.
const MOMENTS: usize = 240;

/// Every whole minute under water, and where legs end there.
fn moments(track: &Track) -> Vec<f64> {
    let ends = track.legs.iter().map(|(begins, _)| *begins);
    let whole = track.end.t_min.max(0.0) as usize;
    let minutes = (0..=whole).step_by(whole.div_ceil(MOMENTS).max(1)).map(|minute| minute as f64);
    let mut moments: Vec<f64> = minutes.chain(ends).filter(|t_min| *t_min >= 0.0).collect();
    moments.sort_by(f64::total_cmp);
    moments.dedup_by(|a, b| (*a - *b).abs() < tolerance::MINUTES);
    moments.retain(|t_min| track.depth_at(*t_min) > tolerance::DEPTH_M);
    moments
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::physics::Water;
    use crate::physics::tissues::Gradients;
    use crate::run::{Ascent, Body, Circuit, Cylinder, Exposure, Filled, Home, Leg, Limits, Open, Stops, Why, Work};

    /// A stay at 12 m on one cylinder, with another one for the way out.
    fn a_stay(minutes: f64) -> Profile {
        let work = Work { oxygen_lpm: 1.0, gas_lpm: 20.0 };
        let ascent = Ascent { work, ..Ascent::default() };
        let leg = |minutes: f64| Leg::new(12.0, minutes, work, Why::Asked(0));
        let filled = Filled { size_l: 24.0, greatest_po2_bar: 1.6, ..Filled::PLAIN };
        let gradients = Gradients::from_percent(45.0, 80.0);
        Profile {
            water: Water { surface_bar: 1.0, bar_per_m: 0.1 },
            circuit: Circuit::Open(Open { cylinder: 0 }),
            cylinders: [Cylinder::new(filled).unwrap(), Cylinder::new(filled).unwrap()].into(),
            set_point: None,
            pre_breathe_min: 0.0,
            checks_l: 0.0,
            rest: work,
            legs: vec![leg(1.0), leg(minutes)],
            inflates: None,
            carried: Exposure { body: Some(Body::at_rest(1.0)), ..Exposure::default() },
            home: Home {
                stops: Some(Stops { gradients, shallowest_m: 3.0, grid_m: 3.0, safety: None }),
                way_out: vec![1],
                out: Some(WayOut { problem_min: 1.0, problem: work, ascent, divers: 1.0, fade: None }),
                ascent,
                ..Home::default()
            },
            limits: Limits::default(),
            others: Arc::from([]),
        }
    }

    /// How many moments of a stay one look at it has told, and by how many runs.
    fn told(minutes: f64) -> (usize, usize) {
        let dive = a_stay(minutes);
        let (track, out) = (dive.run(), dive.home.out.unwrap());
        let moments: Vec<f64> = (2..).map(f64::from).take_while(|t_min| *t_min < minutes).collect();
        let mut sweep = Sweep::of(&dive, &track, &out, &moments);
        sweep.settle(0..moments.len());
        let one_by_one = Sweep::of(&dive, &track, &out, &moments).one_by_one();
        for ((told, _), run) in
            sweep.known.iter().zip(&one_by_one).filter_map(|(told, run)| Some((told.as_ref()?, run)))
        {
            assert!(
                (told.t_min, told.lacks_l) == (run.t_min, run.lacks_l) && (told.spare_l - run.spare_l).abs() < 1e-9
            );
        }
        let known = || sweep.known.iter().flatten();
        (known().count(), known().filter(|(_, tells)| *tells).count())
    }

    #[test]
    fn a_stay_without_stops_is_told_by_its_last_minute() {
        assert_eq!(told(40.0), (38, 1));
    }

    /// At 12 m a diver may stay some two hours; where that ends is found by halving.
    #[test]
    fn a_stay_on_which_stops_come_up_is_halved() {
        let (known, runs) = told(240.0);
        assert!((60..200).contains(&known), "{known}");
        assert!((2..16).contains(&runs), "{runs}");
    }
}
