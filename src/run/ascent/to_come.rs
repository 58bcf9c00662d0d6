//! What lies ahead of a diver at an instant: the ceiling, the no-stop time, the time to the surface.

use std::rc::Rc;

use super::stops::Paces;
use crate::physics::tissues::Line;
use crate::physics::tolerance;
use crate::run::{
    Act, Ascent, Breathing, Leg, Limits, Open, Profile, Route, State, Track, WayHome, WayOut, Why, Work, no_stop_min,
    run,
};

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
        let gases = self.gases(&from);
        run(from, &mut WayHome::new(sources, self.home.stops, ascent, gases), sources, &self.limits)
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
        self.bail_out_at(from, sources, out, Rc::new(Paces::of(&out.ascent)), &self.limits)
    }

    pub(in crate::run) fn bail_out_at(
        &self,
        from: State,
        sources: &[Box<dyn Breathing>],
        out: &WayOut,
        paces: Rc<Paces>,
        limits: &Limits,
    ) -> Track {
        let way = WayHome::new(sources, self.home.stops, out.ascent, &self.home.way_out);
        let mut course =
            BailOut { problem: Some(*out), way: way.because(Why::BailOut).at_paces(paces), gases: &self.home.way_out };
        run(from, &mut course, sources, limits)
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

/// The course out on open circuit.
#[derive(Debug)]
struct BailOut<'a> {
    /// Until the gas is chosen and the problem solved.
    problem: Option<WayOut>,
    way: WayHome<'a>,
    gases: &'a [usize],
}

impl Route for BailOut<'_> {
    fn next(&mut self, now: &State, limits: &Limits) -> Option<Leg> {
        let Some(out) = self.problem.as_mut() else { return self.way.next(now, limits) };
        let at = Leg::new(now.depth_m().max(0.0), out.problem_min, out.problem, Why::BailOut);
        let act = match self.gases.iter().copied().find(|gas| now.may_breathe(*gas, limits)) {
            Some(best) => Act::Breathe(Open::source(best)),
            // What suits this depth and is empty is counted on, as gas that is lacking; where nothing suits it, whatever gives
            // gas is better than none, the leanest most likely.
            None => {
                let suits = self.gases.iter().copied().find(|gas| now.suits(*gas, limits));
                let o2 = |gas: &usize| now.kit.get(*gas).map_or(0.0, |kit| kit.mix.o2);
                let gives = self.gases.iter().copied().filter(|gas| now.gives(*gas));
                let leanest = gives.min_by(|a, b| o2(a).total_cmp(&o2(b))).or(self.gases.first().copied());
                Act::Breathe(Open::source(suits.or(leanest)?))
            }
        };
        let there = State {
            source: match act {
                Act::Breathe(source) => source,
                _ => now.source,
            },
            ..now.clone()
        };
        let leg = self.way.up_to_empty(&there, at);
        out.problem_min -= leg.lasts_min;
        if out.problem_min <= tolerance::INSTANT_MIN {
            self.problem = None;
        }
        Some(leg.doing(act))
    }
}
