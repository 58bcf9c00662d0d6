//! How long a cylinder lasts: the first moment of a run at which it holds no more than must be kept in it.
//!
//! What must be kept is a reserve, or what the way home on open circuit would take of it from that very moment. On a piece
//! of a run the depth is linear in time, and so both what is left and what the way home takes are quadratic in it: the
//! moment is a root, and nothing is sampled.

use crate::physics::Water;
use crate::physics::roots::{first_of_parabola, zero};
use crate::run::{ASCENT_RATE, Segment, Track};

/// Minutes at depth, at peak breathing, to solve the problem before the way home begins (common practice, no source).
pub const PROBLEM_MIN: f64 = 2.0;
/// Breathing on the way home, against breathing at rest (common practice, no source).
pub const HOME_OVER_REST: f64 = 1.5;

/// The way home on open circuit, without stops.
#[derive(Debug, Clone, Copy)]
pub struct Home {
    /// Breathing at rest at the surface, free litres a minute.
    pub rest_lpm: f64,
    /// Breathing at peak, free litres a minute.
    pub peak_lpm: f64,
    /// What other cylinders give to it, free litres.
    pub others_l: f64,
}

impl Home {
    /// Free litres that it takes from a depth, whatever gives them.
    pub fn takes_l(&self, water: &Water, depth_m: f64) -> f64 {
        let depth_m = depth_m.max(0.0);
        // Depth is linear in time, so the pressure half-way is the mean.
        let up = depth_m / ASCENT_RATE * HOME_OVER_REST * self.rest_lpm * water.pressure_bar(depth_m / 2.0);
        PROBLEM_MIN * self.peak_lpm * water.pressure_bar(depth_m) + up
    }
}

/// What must stay in a cylinder, free litres.
#[derive(Debug, Clone, Copy)]
pub struct Kept {
    /// Whatever the depth: the reserve, or what can't be had.
    pub always_l: f64,
    /// What can't be had.
    pub unusable_l: f64,
    /// The way home, where the cylinder is to give to it.
    pub home: Option<Home>,
}

impl Kept {
    /// What the way home takes of the cylinder, with what can't be had; 0 where it gives nothing to it.
    fn for_home_l(&self, water: &Water, depth_m: f64) -> f64 {
        self.home.map_or(0.0, |home| self.unusable_l + home.takes_l(water, depth_m) - home.others_l)
    }
}

/// The moment a cylinder holds no more than must be kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// Minutes since leaving the surface.
    pub t_min: f64,
    /// Depth, metres.
    pub depth_m: f64,
    /// What it then holds, free litres.
    pub holds_l: f64,
    /// What the way home then takes of it, with what can't be had, free litres.
    pub home_l: f64,
    /// The run's leg.
    pub leg: usize,
}

/// When a cylinder ends on a run; `None` if it does not before the run's end.
pub fn ends(track: &Track, cylinder: usize, kept: &Kept) -> Option<Ends> {
    track.segments.iter().find_map(|segment| {
        let state = |minutes: f64| segment.at(minutes);
        let holds = |minutes: f64| state(minutes).litres.get(cylinder).copied().unwrap_or(0.0);
        let home = |minutes: f64| {
            let state = state(minutes);
            kept.for_home_l(&state.water, state.depth_m())
        };
        let falls = [
            first_below(segment, cylinder, |minutes| holds(minutes) - kept.always_l),
            first_below(segment, cylinder, |minutes| holds(minutes) - home(minutes)),
        ];
        let minutes = falls.into_iter().flatten().min_by(f64::total_cmp)?;
        Some(Ends {
            t_min: segment.start.t_min + minutes,
            depth_m: state(minutes).depth_m(),
            holds_l: holds(minutes),
            home_l: home(minutes),
            leg: segment.leg,
        })
    })
}

/// The first moment of a segment at which a margin is below 0. The margin is a quadratic, unless oxygen is injected on a
/// change of depth: then it falls throughout, and its zero is searched.
fn first_below(segment: &Segment, cylinder: usize, margin: impl Fn(f64) -> f64) -> Option<f64> {
    let (start, end) = (margin(0.0), margin(segment.minutes));
    if start < 0.0 {
        return Some(0.0);
    }
    if segment.regime.draws.iter().any(|draw| draw.cylinder == cylinder && draw.curve_per_min != 0.0) {
        return zero(0.0, segment.minutes, margin).filter(|_| end < 0.0);
    }
    // The quadratic through three of its values, over 0…1.
    let middle = margin(segment.minutes / 2.0);
    let (b, c) = (4.0 * middle - 3.0 * start - end, 2.0 * (start - 2.0 * middle + end));
    let root = first_of_parabola(start, b, c).filter(|x| *x <= 1.0)?;
    // Where it only touches 0 it is not below.
    let beyond = (root + 1e-6).min(1.0);
    let falls = start + b * beyond + c * beyond * beyond < 0.0 || end < 0.0;
    falls.then_some(root * segment.minutes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::Mix;
    use crate::run::{Apparatus, Cylinder, Dive, Exposure, Filled, Leg, Limits, Open, Why, Work};

    const WATER: Water = Water { surface_bar: 1.0, bar_per_m: 0.1 };

    /// From 30 m with 45 L/min at peak and 16 at rest: 2·45·4 = 360 L to solve the problem; 30/9 min up at a mean of
    /// 2.5 bar and 24 L/min are 200 L (worked by hand).
    #[test]
    fn the_way_home_is_worked_by_hand() {
        let home = Home { rest_lpm: 16.0, peak_lpm: 45.0, others_l: 0.0 };
        assert!((home.takes_l(&WATER, 30.0) - 560.0).abs() < 1e-9);
    }

    /// Open circuit at 30 m, 20 L/min at the surface: 80 L/min there. 12 L at 200 bar by the real gas, 560 L wanted for
    /// the way home, so (content − 560)/80 minutes.
    #[test]
    fn open_circuit_ends_where_the_line_crosses() {
        let filled = Filled {
            size_l: 12.0,
            mix: Mix::AIR,
            gauge_bar: 200.0,
            read_c: 20.0,
            water_c: 20.0,
            surface_bar: 1.0,
            reserve_bar: 0.0,
            unusable_bar: 0.0,
            greatest_po2_bar: 1.4,
        };
        let cylinder = Cylinder::new(filled).unwrap();
        let content = cylinder.full_l;
        let work = Work { oxygen_lpm: 1.0, gas_lpm: 20.0 };
        let legs = vec![Leg::new(30.0, 0.0, work, Why::Asked(0)), Leg::new(30.0, 60.0, work, Why::Asked(1))];
        let dive = Dive {
            water: WATER,
            apparatus: Apparatus::Open(Open { cylinder: 0 }),
            cylinders: [cylinder].into(),
            set_point: None,
            pre_breathe_min: 0.0,
            rest: work,
            legs,
            inflates: None,
            carried: Exposure::default(),
            home: crate::run::Home::default(),
            limits: Limits::default(),
        };
        let track = dive.run();
        let home = Home { rest_lpm: 16.0, peak_lpm: 45.0, others_l: 0.0 };
        let kept = Kept { always_l: 0.0, unusable_l: 0.0, home: Some(home) };
        let ends = ends(&track, 0, &kept).unwrap();
        let begins = track.segments.iter().find(|segment| segment.leg == 1).unwrap().start.clone();
        let expected = begins.t_min + (begins.litres[0] - 560.0) / 80.0;
        assert!((ends.t_min - expected).abs() < 1e-9, "{ends:?} {expected} {content}");
        assert!((ends.holds_l - 560.0).abs() < 1e-6);
        let apart = Kept { always_l: 100.0, unusable_l: 0.0, home: None };
        let ends = super::ends(&track, 0, &apart).unwrap();
        assert!((ends.t_min - (begins.t_min + (begins.litres[0] - 100.0) / 80.0)).abs() < 1e-9);
    }
}
