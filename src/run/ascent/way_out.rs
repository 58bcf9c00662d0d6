//! The way out on open circuit, from any moment of a dive.

use std::collections::BTreeSet;
use std::rc::Rc;

use super::stops::Paces;
use crate::physics::tolerance;
use crate::run::{Breathing, Limits, Profile, State, Track, WayOut, Why, run};

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
        let (t_min, depth_m) = (from.t_min, from.depth_m());
        let before = from.litres.clone();
        let back_min =
            self.way_back(&from, out.ascent.work, out.divers, Why::BailOut).iter().map(|leg| leg.lasts_min).sum();
        let from = self.all_getting_out(from.with_clocks_stopped());
        let short = |cylinder: usize, litres: f64| {
            self.cylinders.get(cylinder).map_or(0.0, |kit| (kit.unusable_l - litres).max(0.0))
        };
        if self.home.way_out.is_empty() {
            return Escape {
                t_min,
                depth_m,
                minutes: 0.0,
                problem_min: 0.0,
                back_min: 0.0,
                draws_l: vec![0.0; before.len()],
                lacks_l: f64::INFINITY,
                spare_l: 0.0,
            };
        }
        let limits = Limits { end_only: true, ..self.limits };
        let mut course = self.bail_out(&from, sources, out, paces, &limits);
        let problem_min = course.problem_min();
        let end = run(from, &mut course, sources, &limits).end;
        let draws_l: Vec<f64> = before.iter().zip(&end.litres).map(|(before, after)| before - after).collect();
        let litres = || before.iter().zip(&end.litres).enumerate();
        let lacks_l = if end.at_surface() {
            litres().map(|(number, (before, after))| short(number, *after) - short(number, *before)).sum()
        } else {
            f64::INFINITY
        };
        let to_get_out_on: BTreeSet<usize> = self.home.way_out.iter().flat_map(|first| end.together(*first)).collect();
        let spare_l = to_get_out_on.into_iter().map(|cylinder| end.to_be_had_l(cylinder)).sum();
        Escape { t_min, depth_m, minutes: end.t_min - t_min, problem_min, back_min, draws_l, lacks_l, spare_l }
    }

    /// The way out from every minute of a run of this dive and from the end of each of its legs, in order of time: from
    /// leaving the surface until the diver is back there.
    pub fn escapes(&self, track: &Track, out: &WayOut) -> Vec<Escape> {
        let (sources, paces) = (self.sources(), Rc::new(Paces::of(&out.ascent, self.home.grid_m())));
        let escape = |t_min| self.escape_at(track.without_clocks_at(t_min), &sources, out, paces.clone());
        moments(track).into_iter().map(escape).collect()
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
