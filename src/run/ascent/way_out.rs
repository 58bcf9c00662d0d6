//! The way out on open circuit, from any moment of a dive.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::stops::Paces;
use crate::run::{Breathing, Limits, Profile, State, WayOut, Why, run};

/// What the way out from a moment takes, and what of it there is not.
#[derive(Debug, Clone, PartialEq)]
pub struct Escape {
    /// The moment, minutes since leaving the surface.
    pub t_min: f64,
    /// How deep the diver is then, metres.
    pub depth_m: f64,
    /// Minutes to the surface.
    pub minutes: f64,
    /// How many of them go by before the diver sets out.
    pub problem_min: f64,
    /// How many of them lead back from under something overhead.
    pub back_min: f64,
    /// What it draws from each cylinder, free litres, beyond what that gives too.
    pub draws_l: Vec<f64>,
    /// What is lacking, free litres; infinite where there is no gas to get out on, or no end of the stops.
    pub lacks_l: f64,
    /// What the cylinders for the way out then still give, free litres.
    pub spare_l: f64,
}

impl Escape {
    /// The same way out of a diver who takes it from another moment: what is left in the cylinders is all that differs.
    pub(super) fn taken_from(&self, dive: &Profile, from: &State) -> Escape {
        let after: Vec<f64> = from.litres.iter().zip(&self.draws_l).map(|(held, draws)| held - draws).collect();
        let (lacks_l, spare_l) = left(dive, from, &after);
        Escape { t_min: from.t_min, depth_m: from.depth_m(), lacks_l, spare_l, ..self.clone() }
    }
}

/// What is lacking of a way out after which a diver has so much in each cylinder, and what those for it still give, free
/// litres.
fn left(dive: &Profile, from: &State, after: &[f64]) -> (f64, f64) {
    let unusable_l = |cylinder: usize| dive.cylinders.get(cylinder).map_or(0.0, |kit| kit.unusable_l);
    let short = |cylinder: usize, litres: f64| (unusable_l(cylinder) - litres).max(0.0);
    let litres = from.litres.iter().zip(after).enumerate();
    let lacks = litres.map(|(number, (before, after))| short(number, *after) - short(number, *before));
    let to_get_out_on: BTreeSet<usize> = dive.home.way_out.iter().flat_map(|first| from.together(*first)).collect();
    let spare = |cylinder: usize| after.get(cylinder).map_or(0.0, |litres| (litres - unusable_l(cylinder)).max(0.0));
    (lacks.sum(), to_get_out_on.into_iter().map(spare).sum())
}

impl Profile {
    /// The way out from a moment.
    pub fn escape_from(&self, from: State, sources: &[Box<dyn Breathing>], out: &WayOut) -> Escape {
        self.escape_at(from, sources, out, Rc::new(Paces::of(&out.ascent, self.home.grid_m())))
    }

    pub(in crate::run) fn escape_at(
        &self,
        from: State,
        sources: &[Box<dyn Breathing>],
        out: &WayOut,
        paces: Rc<Paces>,
    ) -> Escape {
        self.escape_and_whether_told(from, sources, out, paces).0
    }

    /// The way out from a moment, and whether it would be the same with less in the tissues and more in the cylinders: no stop
    /// is made, and nothing runs dry.
    pub(super) fn escape_and_whether_told(
        &self,
        from: State,
        sources: &[Box<dyn Breathing>],
        out: &WayOut,
        paces: Rc<Paces>,
    ) -> (Escape, bool) {
        let before = from.clone();
        let back_min =
            self.way_back(&from, out.ascent.work, out.divers, Why::BailOut).iter().map(|leg| leg.lasts_min).sum();
        let (t_min, depth_m) = (from.t_min, from.depth_m());
        let from = self.all_getting_out(from.with_clocks_stopped());
        if self.home.way_out.is_empty() {
            let none = Escape {
                t_min,
                depth_m,
                minutes: 0.0,
                problem_min: 0.0,
                back_min: 0.0,
                draws_l: vec![0.0; before.litres.len()],
                lacks_l: f64::INFINITY,
                spare_l: 0.0,
            };
            return (none, false);
        }
        let limits = Limits { end_only: true, ..self.limits };
        let mut course = self.bail_out(&from, sources, out, paces, &limits);
        let problem_min = course.problem_min();
        let end = run(from, &mut course, sources, &limits).end;
        let surfaces = end.at_surface();
        let draws_l = before.litres.iter().zip(&end.litres).map(|(before, after)| before - after).collect();
        let (lacks_l, spare_l) = left(self, &before, &end.litres);
        let lacks_l = if surfaces { lacks_l } else { f64::INFINITY };
        let runs_dry = || (0..before.kit.len()).any(|cylinder| before.gives(cylinder) != end.gives(cylinder));
        let same = surfaces && course.is_the_same_with_less(&before) && !runs_dry();
        (Escape { t_min, depth_m, minutes: end.t_min - t_min, problem_min, back_min, draws_l, lacks_l, spare_l }, same)
    }
}
