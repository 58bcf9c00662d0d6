//! How long a cylinder lasts when the feed is steady on each leg and the way home, on open circuit, makes no stops.
//!
//! On a leg the depth is linear in time, so the gas used and the gas a way home would take are both quadratic in it,
//! and the moment a cylinder falls short is the root of a quadratic: nothing is sampled.

use crate::physics::pressure::Water;
use crate::plan::{LegKind, Work};
use crate::rules::dives::OneDive;

/// Metres a minute down and up where a leg says no rate (common practice, no source).
pub const DESCENT_RATE: f64 = 15.0;
/// See [`DESCENT_RATE`].
pub const ASCENT_RATE: f64 = 9.0;
/// Minutes at depth, at peak work, to solve the problem before the way home begins (common practice, no source).
pub const PROBLEM_MIN: f64 = 2.0;
/// Breathing on the way home, against breathing at rest (common practice, no source).
pub const HOME_OVER_REST: f64 = 1.5;

/// A stretch of a dive over which depth is linear in time.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    /// Index of the leg.
    pub leg: usize,
    /// Run time at its start, minutes.
    pub from_min: f64,
    /// How long it lasts, minutes.
    pub lasts_min: f64,
    /// Depth at its start, metres.
    pub from_m: f64,
    /// Depth at its end, metres.
    pub to_m: f64,
    /// How hard the diver works.
    pub work: Work,
}

/// A dive's stretches, the surface to the surface, without worked-out stops.
pub fn stretches(dive: &OneDive<'_>) -> Vec<Stretch> {
    let mut stretches = Vec::new();
    let (mut now, mut depth) = (0.0, 0.0);
    for (index, leg) in dive.legs().iter().enumerate() {
        let to = leg.depth_m.as_ref().map(|depth| depth.value);
        let minutes = leg.minutes.as_ref().map(|minutes| minutes.value);
        let until = leg.until_min.as_ref().map(|until| (until.value - now).max(0.0));
        let rate = |usual: f64| leg.rate.as_ref().map(|rate| rate.value).filter(|rate| *rate > 0.0).unwrap_or(usual);
        let go = |to: f64| (to - depth).abs() / rate(if to > depth { DESCENT_RATE } else { ASCENT_RATE });
        let parts: Vec<(f64, f64)> = match leg.kind {
            LegKind::Descend => to.map(|to| (to, go(to))).into_iter().collect(),
            LegKind::Ascend => vec![(to.unwrap_or(0.0), go(to.unwrap_or(0.0)))],
            LegKind::Travel => to.zip(minutes).into_iter().collect(),
            LegKind::Stop => {
                let to = to.unwrap_or(depth);
                vec![(to, go(to)), (to, minutes.unwrap_or(0.0))]
            }
            LegKind::Stay | LegKind::OffLoop => minutes.or(until).map(|minutes| (depth, minutes)).into_iter().collect(),
            LegKind::Switch(_) | LegKind::SetPoint | LegKind::Flush | LegKind::OnLoop | LegKind::BailOut(_) => {
                Vec::new()
            }
        };
        for (to_m, lasts_min) in parts.into_iter().filter(|(_, lasts)| lasts.is_finite() && *lasts > 0.0) {
            let work = dive.work(leg);
            stretches.push(Stretch { leg: index, from_min: now, lasts_min, from_m: depth, to_m, work });
            now += lasts_min;
            depth = to_m;
        }
    }
    stretches
}

/// What a diver's breathing takes on open circuit, free litres a minute at the surface.
#[derive(Debug, Clone, Copy)]
pub struct Breathing {
    /// At rest.
    pub rest_lpm: f64,
    /// At peak work.
    pub peak_lpm: f64,
}

impl Breathing {
    /// Free litres that the way home takes from a depth: solving the problem there at peak, then straight up.
    pub fn home_l(&self, water: &Water, depth_m: f64) -> f64 {
        let up = depth_m / ASCENT_RATE * HOME_OVER_REST * self.rest_lpm * water.pressure_bar(depth_m / 2.0);
        PROBLEM_MIN * self.peak_lpm * water.pressure_bar(depth_m) + up
    }
}

/// What a cylinder must still hold at any moment, free litres.
#[derive(Debug, Clone, Copy)]
pub struct Kept {
    /// Held back whatever the depth.
    pub always_l: f64,
    /// Below this no gas can be had.
    pub unusable_l: f64,
    /// What other cylinders give to the way home; infinite where this one gives nothing to it.
    pub others_l: f64,
}

/// The moment a cylinder first holds less than it must.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Short {
    /// Run time, minutes.
    pub at_min: f64,
    /// Depth, metres.
    pub depth_m: f64,
    /// What it then holds, free litres.
    pub holds_l: f64,
    /// What the way home from there takes of it, free litres, with what is unusable.
    pub home_l: f64,
    /// The leg.
    pub leg: usize,
}

/// Finds the moment a cylinder falls short, if it does before the surface. `used` gives, for a stretch, the free litres
/// taken over its whole length and over its first half.
pub fn short(
    stretches: &[Stretch],
    content_l: f64,
    kept: Kept,
    used: impl Fn(&Stretch) -> (f64, f64),
    home_l: impl Fn(f64) -> f64,
) -> Option<Short> {
    let mut holds = content_l;
    for stretch in stretches {
        let (whole, half) = used(stretch);
        let depth = |x: f64| stretch.from_m + x * (stretch.to_m - stretch.from_m);
        let left = |x: f64| holds - fit(0.0, half, whole).at(x);
        let home = |x: f64| kept.unusable_l + home_l(depth(x)) - kept.others_l;
        let over = |must: &dyn Fn(f64) -> f64| {
            let margin = |x: f64| left(x) - must(x);
            fit(margin(0.0), margin(0.5), margin(1.0)).first_below_zero()
        };
        let mut falls = vec![over(&|_| kept.always_l.max(kept.unusable_l))];
        if kept.others_l.is_finite() {
            falls.push(over(&home));
        }
        if let Some(x) = falls.into_iter().flatten().min_by(f64::total_cmp) {
            return Some(Short {
                at_min: stretch.from_min + x * stretch.lasts_min,
                depth_m: depth(x),
                holds_l: left(x),
                home_l: if kept.others_l.is_finite() { home(x) } else { kept.unusable_l },
                leg: stretch.leg,
            });
        }
        holds -= whole;
    }
    None
}

/// A quadratic over 0…1.
struct Quadratic {
    a: f64,
    b: f64,
    c: f64,
}

/// The quadratic through its values at 0, ½ and 1.
fn fit(start: f64, middle: f64, end: f64) -> Quadratic {
    Quadratic { a: 2.0 * (start - 2.0 * middle + end), b: 4.0 * middle - 3.0 * start - end, c: start }
}

impl Quadratic {
    fn at(&self, x: f64) -> f64 {
        (self.a * x + self.b) * x + self.c
    }

    /// The first x in 0…1 from which it is below zero.
    fn first_below_zero(&self) -> Option<f64> {
        if self.c < 0.0 {
            return Some(0.0);
        }
        let roots = if self.a.abs() < 1e-12 {
            [-self.c / self.b, f64::NAN]
        } else {
            // The form that does not cancel: one root from the sum of like signs, the other from their product.
            let root = (self.b * self.b - 4.0 * self.a * self.c).sqrt();
            let sum = -0.5 * (self.b + root.copysign(self.b));
            [sum / self.a, self.c / sum]
        };
        let falls = |x: &f64| (0.0..=1.0).contains(x) && (2.0 * self.a * x + self.b < 0.0 || self.at(1.0) < 0.0);
        roots.into_iter().filter(falls).min_by(f64::total_cmp)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: Water = Water { surface_bar: 1.0, bar_per_m: 0.1 };

    /// From 30 m with 45 L/min at peak and 16 at rest: 2·45·4 = 360 L to solve the problem; 30/9 min up at a mean of
    /// 2.5 bar and 24 L/min are 200 L (worked by hand).
    #[test]
    fn the_way_home_is_worked_by_hand() {
        let breathing = Breathing { rest_lpm: 16.0, peak_lpm: 45.0 };
        assert!((breathing.home_l(&WATER, 30.0) - 560.0).abs() < 1e-9);
    }

    /// 1000 L at 20 L/min, 560 L wanted for the way home from 30 m: 22 minutes there.
    #[test]
    fn a_steady_feed_falls_short_where_the_line_crosses() {
        let stay = Stretch { leg: 0, from_min: 2.0, lasts_min: 60.0, from_m: 30.0, to_m: 30.0, work: Work::Light };
        let breathing = Breathing { rest_lpm: 16.0, peak_lpm: 45.0 };
        let kept = Kept { always_l: 100.0, unusable_l: 0.0, others_l: 0.0 };
        let used = |stretch: &Stretch| (20.0 * stretch.lasts_min, 10.0 * stretch.lasts_min);
        let found =
            short(&[stay], 1000.0, kept, used, |depth| breathing.home_l(&WATER, depth)).map(|short| short.at_min);
        assert!((found.unwrap_or(0.0) - 24.0).abs() < 1e-9, "{found:?}");
        let apart = Kept { others_l: f64::INFINITY, ..kept };
        let found = short(&[stay], 1000.0, apart, used, |_| 0.0).map(|short| short.at_min);
        assert!((found.unwrap_or(0.0) - 47.0).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn quadratics_fall_below_zero_where_they_should() {
        assert_eq!(fit(1.0, 1.0, 1.0).first_below_zero(), None);
        assert_eq!(fit(-1.0, 1.0, 1.0).first_below_zero(), Some(0.0));
        assert_eq!(fit(1.0, 0.0, -1.0).first_below_zero(), Some(0.5));
        // 1 − 4x + 4x² touches zero at ½ and never falls below.
        assert_eq!(fit(1.0, 0.0, 1.0).first_below_zero(), None);
        // x = ¼ down, x = ¾ up again.
        let found = fit(3.0, -1.0, 3.0).first_below_zero().unwrap_or(9.0);
        assert!((found - 0.25).abs() < 1e-12, "{found}");
    }
}
