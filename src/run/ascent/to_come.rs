//! What lies ahead of a diver at an instant: the ceiling, the no-stop time, the time to the surface.

use std::collections::VecDeque;
use std::ops::ControlFlow;
use std::rc::Rc;

use super::stops::Paces;
use crate::physics::tissues::Line;
use crate::physics::tolerance;
use crate::run::{
    Act, Ascent, Breathing, Fade, Leg, Limits, Open, Profile, Route, State, Track, WayHome, WayOut, Why, Work,
    no_stop_min, run,
};

/// Shallower than this a diver whom neither stops nor a way back hold goes up at once, metres (common practice, no source).
const AT_ONCE_M: f64 = 10.0;

/// What lies ahead of a diver at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToCome {
    /// The least depth that the tissues allow, metres: 0 where the diver may surface.
    pub ceiling_m: f64,
    /// How much longer the diver may stay at this depth and go straight up, minutes: 0 where that time is over, `None`
    /// where no limit comes within [`super::LONGEST_STAY_MIN`].
    pub no_stop_min: Option<f64>,
    /// Minutes to the surface if the diver went up now, stops counted; `None` where nobody could wait that long.
    pub to_surface_min: Option<f64>,
}

impl Profile {
    /// The way home from an instant at which a diver is under way, on what is breathed then, with the stops that the
    /// tissues ask for.
    pub fn home_from(&self, from: State, sources: &[Box<dyn Breathing>], ascent: Ascent) -> Track {
        let way = WayHome::new(sources, self.home.stops, ascent, self.gases(&from));
        let back = Back::new(self.way_back(&from, ascent.work, 1.0, Why::WayHome));
        run(from, &mut BackAndUp { back, way }, sources, &self.limits)
    }

    /// What lies ahead of a diver who works so hard at an instant and would go up like that; `None` where tissues are not
    /// followed or no stops are worked out.
    pub fn to_come(&self, now: &State, sources: &[Box<dyn Breathing>], ascent: Ascent, work: Work) -> Option<ToCome> {
        let (stops, body) = (self.home.stops?, now.exposure.body?);
        let home = self.home_from(now.clone(), sources, ascent);
        let first_stop_m = if body.first_stop_m > 0.0 {
            body.first_stop_m
        } else {
            home.legs.iter().find(|(_, leg)| leg.why == Why::Stop).map_or(0.0, |(_, leg)| leg.to_m)
        };
        let line = Line { gradients: stops.gradients, first_stop_m };
        let no_stop_min = if first_stop_m > 0.0 { Some(0.0) } else { no_stop_min(now, sources, &stops, &ascent, work) };
        Some(ToCome {
            ceiling_m: line.ceiling_m(&body.tissues, &now.water),
            no_stop_min,
            to_surface_min: home.never_surfaces().is_none().then_some(home.end.t_min - now.t_min),
        })
    }

    /// The way out on open circuit from an instant: minutes at that depth to solve the problem, then the way home.
    ///
    /// Gas is breathed past the end of the last cylinder that gives any, so that a run says how much was lacking.
    pub fn bail_out_from(&self, from: State, sources: &[Box<dyn Breathing>], out: &WayOut) -> Track {
        self.bail_out_at(from, sources, out, Rc::new(Paces::of(&out.ascent, self.home.grid_m())), &self.limits)
    }

    pub(in crate::run) fn bail_out_at(
        &self,
        from: State,
        sources: &[Box<dyn Breathing>],
        out: &WayOut,
        paces: Rc<Paces>,
        limits: &Limits,
    ) -> Track {
        let mut course = self.bail_out(&from, sources, out, paces, limits);
        run(from, &mut course, sources, limits)
    }

    /// The course of a way out from a state.
    pub(super) fn bail_out<'a>(
        &'a self,
        from: &State,
        sources: &'a [Box<dyn Breathing>],
        out: &WayOut,
        paces: Rc<Paces>,
        limits: &Limits,
    ) -> BailOut<'a> {
        let way = WayHome::new(sources, self.home.stops, out.ascent, &self.home.way_out);
        let back = Back::new(self.way_back(from, out.ascent.work, out.divers, Why::BailOut));
        let way = way.because(Why::BailOut).at_paces(paces);
        let mut course = BailOut {
            problem: Some(*out),
            back,
            way,
            gases: &self.home.way_out,
            fade: out.fade,
            up_min: None,
            pieces: VecDeque::new(),
            went_at_once: false,
        };
        if course.goes_up_at_once(from, limits) {
            course.went_at_once = true;
            course.problem = Some(WayOut { problem_min: 0.0, ..*out });
        }
        course
    }

    /// The legs from under what is overhead to where the diver may go up, in order: as hard as they were swum in, and no less
    /// than on the way up; open circuit gives for so many divers.
    pub(in crate::run) fn way_back(&self, from: &State, least: Work, divers: f64, why: Why) -> VecDeque<Leg> {
        let pace = self.home.exit_pace.unwrap_or(1.0);
        let harder = |work: Work| Work {
            oxygen_lpm: work.oxygen_lpm.max(least.oxygen_lpm),
            gas_lpm: (divers * work.gas_lpm).max(least.gas_lpm),
        };
        let mut legs = VecDeque::new();
        for piece in from.inside.way_back(from.depth_m().max(0.0)) {
            let work = harder(piece.work);
            let take_up = |cylinder| Leg::new(piece.to_m, 0.0, work, why).doing(Act::TakeUp(cylinder));
            legs.extend(piece.laid.cylinders().map(take_up));
            legs.push_back(Leg::new(piece.from_m, piece.minutes / pace, work, why));
        }
        legs
    }

    /// The gases to go over to on a way up: on a loop none, on open circuit by plan those of the plan, else those for the
    /// way out.
    pub(in crate::run) fn gases(&self, now: &State) -> &[usize] {
        match self.circuit {
            crate::run::Circuit::Open(_) => &self.home.planned,
            _ if now.source == 0 => &[],
            _ => &self.home.way_out,
        }
    }
}

/// The way back from under what is overhead.
#[derive(Debug)]
struct Back<'a> {
    /// What is left of it.
    legs: VecDeque<Leg>,
    /// The way up along the leg that was last begun, where it leads up.
    rising: Option<WayHome<'a>>,
}

impl<'a> Back<'a> {
    fn new(legs: VecDeque<Leg>) -> Back<'a> {
        Back { legs, rising: None }
    }

    /// What is next where it leads up, stops on the way among it; goes on where it doesn't.
    fn up(&mut self, now: &State, limits: &Limits, way: &WayHome<'a>) -> ControlFlow<Option<Leg>> {
        if let Some(rising) = &mut self.rising {
            let leg = rising.next(now, limits);
            // Who never gets there waits for a stop to end that doesn't.
            if leg.is_some() || !rising.arrived(now) {
                return ControlFlow::Break(leg);
            }
        }
        self.rising = self.legs.front().and_then(|leg| way.along(now, leg));
        match &mut self.rising {
            None => ControlFlow::Continue(()),
            Some(rising) => {
                self.legs.pop_front();
                ControlFlow::Break(rising.next(now, limits))
            }
        }
    }
}

/// The course home: back from under what is overhead, and up.
#[derive(Debug)]
struct BackAndUp<'a> {
    back: Back<'a>,
    way: WayHome<'a>,
}

impl Route for BackAndUp<'_> {
    fn next(&mut self, now: &State, limits: &Limits) -> Option<Leg> {
        if let ControlFlow::Break(leg) = self.back.up(now, limits, &self.way) {
            return leg;
        }
        self.back.legs.pop_front().or_else(|| self.way.next(now, limits))
    }
}

/// The course out on open circuit.
#[derive(Debug)]
pub(super) struct BailOut<'a> {
    /// Until the gas is chosen and the problem solved.
    problem: Option<WayOut>,
    /// What is left of the way back from under what is overhead.
    back: Back<'a>,
    way: WayHome<'a>,
    gases: &'a [usize],
    /// How breathing comes down on the way up.
    fade: Option<Fade>,
    /// When the way up was begun, minutes since leaving the surface.
    up_min: Option<f64>,
    /// What is left of a leg on which breathing comes down.
    pieces: VecDeque<Leg>,
    /// Whether nothing kept the diver down while the problem was solved.
    went_at_once: bool,
}

/// While breathing comes down on the way up it is even for so long, minutes: that of the middle of the time.
const EVEN_MIN: f64 = 0.5;

impl BailOut<'_> {
    /// Minutes that go by at depth before the diver sets out.
    pub(super) fn problem_min(&self) -> f64 {
        self.problem.map_or(0.0, |out| out.problem_min)
    }

    /// Whether a diver with less in the tissues would have gone the same way: nothing has held this one, and who solves the
    /// problem at depth would as well.
    pub(super) fn is_the_same_with_less(&self, from: &State) -> bool {
        self.way.was_straight() && (self.went_at_once || from.depth_m() >= AT_ONCE_M - tolerance::DEPTH_M)
    }

    /// Whether nothing keeps a diver down while the problem is solved: it is shallow, nothing is overhead, no stop is due.
    fn goes_up_at_once(&self, from: &State, limits: &Limits) -> bool {
        from.depth_m() < AT_ONCE_M - tolerance::DEPTH_M
            && self.back.legs.is_empty()
            && self.over(from, limits).is_some_and(|source| self.way.is_direct(&State { source, ..from.clone() }))
    }

    /// Over to the best gas for this depth.
    fn over(&self, now: &State, limits: &Limits) -> Option<usize> {
        let best = self.gases.iter().copied().find(|gas| now.may_breathe(*gas, limits));
        // What suits this depth and is empty is counted on, as gas that is lacking; where nothing suits it, whatever gives
        // gas is better than none, the leanest most likely.
        let counted = || {
            let suits = self.gases.iter().copied().find(|gas| now.suits(*gas, limits));
            let o2 = |gas: &usize| now.kit.get(*gas).map_or(0.0, |kit| kit.mix.o2);
            let gives = self.gases.iter().copied().filter(|gas| now.gives(*gas));
            suits.or_else(|| gives.min_by(|a, b| o2(a).total_cmp(&o2(b))).or(self.gases.first().copied()))
        };
        Some(Open::source(best.or_else(counted)?))
    }

    /// A leg on the best gas for the deeper of its ends, as long as that lasts.
    fn on_the_best(&self, now: &State, limits: &Limits, leg: Leg) -> Option<Leg> {
        let deeper = State { bar: now.water.pressure_bar(leg.to_m).max(now.bar), ..now.clone() };
        let source = self.over(&deeper, limits)?;
        let there = State { source, ..now.clone() };
        Some(self.way.up_to_empty(&there, leg).doing(Act::Breathe(source)))
    }

    /// The way up, breathing coming down.
    fn up(&mut self, now: &State, limits: &Limits) -> Option<Leg> {
        let Some(fade) = self.fade else { return self.way.next(now, limits) };
        if let Some(piece) = self.pieces.pop_front() {
            let fits = self.way.up_to_empty(now, piece);
            if fits.lasts_min < piece.lasts_min {
                // Another gas is gone over to first.
                self.pieces.clear();
            }
            return Some(fits);
        }
        let begun = *self.up_min.get_or_insert(now.t_min);
        let leg = self.way.next(now, limits)?;
        let (from_min, from_m) = (now.t_min - begun, now.depth_m());
        let fading_min = (fade.minutes - from_min).clamp(0.0, leg.lasts_min);
        if fading_min <= tolerance::INSTANT_MIN {
            return Some(leg);
        }
        let number = libm::ceil(fading_min / EVEN_MIN).max(1.0);
        let lasts_min = fading_min / number;
        let piece = |until_min: f64, lasts_min: f64, gas_lpm: f64| Leg {
            to_m: from_m + (leg.to_m - from_m) * until_min / leg.lasts_min,
            lasts_min,
            work: Work { gas_lpm, ..leg.work },
            ..leg
        };
        for index in 0..number as usize {
            let until_min = lasts_min * (index as f64 + 1.0);
            let lpm = fade.lpm_after(from_min + until_min - 0.5 * lasts_min, leg.work.gas_lpm);
            self.pieces.push_back(piece(until_min, lasts_min, lpm));
        }
        if leg.lasts_min - fading_min > tolerance::INSTANT_MIN {
            self.pieces.push_back(piece(leg.lasts_min, leg.lasts_min - fading_min, leg.work.gas_lpm));
        }
        if let Some(last) = self.pieces.back_mut() {
            last.to_m = leg.to_m;
        }
        // What is done where a leg begins is done once.
        self.pieces.iter_mut().skip(1).for_each(|piece| piece.act = Act::None);
        self.pieces.pop_front()
    }
}

impl Route for BailOut<'_> {
    fn next(&mut self, now: &State, limits: &Limits) -> Option<Leg> {
        if let Some(out) = self.problem
            && out.problem_min <= tolerance::INSTANT_MIN
        {
            self.problem = None;
            let at = Leg::new(now.depth_m().max(0.0), 0.0, out.problem, Why::BailOut);
            return Some(at.doing(Act::Breathe(self.over(now, limits)?)));
        }
        if let Some(out) = self.problem {
            let at = Leg::new(now.depth_m().max(0.0), out.problem_min, out.problem, Why::BailOut);
            let leg = self.on_the_best(now, limits, at)?;
            let left = out.problem_min - leg.lasts_min;
            self.problem = (left > tolerance::INSTANT_MIN).then_some(WayOut { problem_min: left, ..out });
            return Some(leg);
        }
        if let ControlFlow::Break(leg) = self.back.up(now, limits, &self.way) {
            return leg;
        }
        let Some(next) = self.back.legs.pop_front() else { return self.up(now, limits) };
        if let Act::TakeUp(_) = next.act {
            return Some(Leg { to_m: now.depth_m().max(0.0), ..next });
        }
        let leg = self.on_the_best(now, limits, next)?;
        let left = next.lasts_min - leg.lasts_min;
        if left > tolerance::INSTANT_MIN {
            self.back.legs.push_front(Leg { lasts_min: left, ..next });
        }
        Some(leg)
    }
}
