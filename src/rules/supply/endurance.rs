//! How long a cylinder lasts: the first moment of a run at which it holds no more than must be kept in it.
//!
//! What must be kept is a reserve, or what the way out on open circuit would take of it from that very moment. The
//! reserve's moment is a root of what is left, a quadratic on a piece of a run. The way out is run from every minute, and
//! the moment is narrowed down between the two minutes where it no longer fits.

use crate::physics::roots::{first_of_parabola, zero};
use crate::physics::tolerance;
use crate::run::{Draw, Escape, Profile, Segment, Track};

/// Why a cylinder ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum By {
    /// It holds what must be kept in it whatever comes.
    Kept,
    /// The way out takes what is left.
    WayOut,
}

/// The moment a cylinder holds no more than must be kept.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Ends {
    /// Minutes since leaving the surface.
    pub t_min: f64,
    /// Depth, metres.
    pub depth_m: f64,
    /// What it then holds, free litres.
    pub holds_l: f64,
    /// Why.
    pub by: By,
    /// The way out from there; `None` where nothing says what the diver breathes.
    pub way_out: Option<Escape>,
    /// The run's leg.
    pub leg: usize,
}

/// The moment is found to this, minutes.
const NARROW_MIN: f64 = 1e-4;

/// When a cylinder ends on a run; `None` if it does not before the run's end. `kept_l` is what must stay in it whatever
/// comes; `escapes` are the ways out from every minute of the run.
pub(super) fn ends(dive: &Profile, track: &Track, cylinder: usize, kept_l: f64, escapes: &[Escape]) -> Option<Ends> {
    let kept = reaches(track, cylinder, kept_l).map(|t_min| (t_min, By::Kept));
    let way_out = does_not_fit(dive, track, cylinder, escapes).map(|t_min| (t_min, By::WayOut));
    let (t_min, by) = [kept, way_out].into_iter().flatten().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let state = track.at(t_min);
    let holds_l = *state.litres.get(cylinder)?;
    Some(Ends {
        t_min,
        depth_m: state.depth_m(),
        holds_l,
        by,
        leg: track.segment_at(t_min).or(track.segments.last())?.leg,
        way_out: dive.home.out.map(|out| dive.escape_from(state, &dive.sources(), &out)),
    })
}

/// When a cylinder comes down to so many free litres.
pub(super) fn reaches(track: &Track, cylinder: usize, litres: f64) -> Option<f64> {
    track.segments.iter().find_map(|segment| {
        let margin = |minutes: f64| segment.litres_at(minutes, cylinder).unwrap_or(0.0) - litres;
        first_below(segment, cylinder, margin).map(|minutes| segment.start.t_min + minutes)
    })
}

/// From when on the way out takes more of a cylinder than it gives.
fn does_not_fit(dive: &Profile, track: &Track, cylinder: usize, escapes: &[Escape]) -> Option<f64> {
    let unusable_l = dive.cylinders.get(cylinder)?.unusable_l;
    let margin = |escape: &Escape| -> f64 {
        let draws_l = escape.draws_l.get(cylinder).copied().unwrap_or(0.0);
        if draws_l <= tolerance::LITRES {
            return f64::INFINITY;
        }
        track.litres_at(escape.t_min, cylinder).unwrap_or(0.0) - draws_l - unusable_l
    };
    let first = escapes.iter().position(|escape| margin(escape) < -tolerance::LITRES)?;
    let over = escapes.get(first)?.t_min;
    let Some(before) = first.checked_sub(1).and_then(|before| escapes.get(before)) else { return Some(over) };
    let (sources, out) = (dive.sources(), dive.home.out?);
    let (mut fits, mut over) = (before.t_min, over);
    while over - fits > NARROW_MIN {
        let middle = 0.5 * (fits + over);
        let lacks = margin(&dive.escape_from(track.without_clocks_at(middle), &sources, &out)) < -tolerance::LITRES;
        if lacks { over = middle } else { fits = middle }
    }
    Some(fits)
}

/// The first moment of a segment at which a margin is below 0. The margin is a quadratic, unless oxygen is injected on a
/// change of depth or others draw from the cylinder: then it falls throughout, and its zero is searched.
fn first_below(segment: &Segment, cylinder: usize, margin: impl Fn(f64) -> f64) -> Option<f64> {
    let (start, end) = (margin(0.0), margin(segment.minutes));
    if start < 0.0 {
        return Some(0.0);
    }
    let curved = |draw: &Draw| draw.cylinder == cylinder && draw.curve_per_min != 0.0;
    if segment.start.is_shared(cylinder) || segment.regime.draws.iter().any(curved) {
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
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::physics::Water;
    use crate::run::{Ascent, Circuit, Cylinder, Exposure, Filled, Home, Leg, Limits, Open, WayOut, Why, Work};

    const WATER: Water = Water { surface_bar: 1.0, bar_per_m: 0.1 };

    /// From 30 m with 45 L/min at peak and 16 at rest: 2·45·4 = 360 L to solve the problem; 30/9 min up at a mean of
    /// 2.5 bar and 24 L/min are 200 L (worked by hand). At 30 m on 20 L/min a minute takes 80 L.
    #[test]
    fn the_moment_is_where_what_is_left_is_what_the_way_out_takes() {
        let filled = Filled { reserve_bar: 0.0, ..Filled::PLAIN };
        let cylinder = Cylinder::new(filled).unwrap();
        let work = Work { oxygen_lpm: 1.0, gas_lpm: 20.0 };
        let breathing = |gas_lpm: f64| Work { gas_lpm, ..work };
        let ascent = Ascent { rate_m_per_min: 9.0, last: None, work: breathing(24.0) };
        let legs = vec![Leg::new(30.0, 0.0, work, Why::Asked(0)), Leg::new(30.0, 60.0, work, Why::Asked(1))];
        let dive = Profile {
            water: WATER,
            circuit: Circuit::Open(Open { cylinder: 0 }),
            cylinders: [cylinder].into(),
            set_point: None,
            pre_breathe_min: 0.0,
            checks_l: 0.0,
            rest: work,
            legs,
            inflates: None,
            carried: Exposure::default(),
            home: Home {
                way_out: vec![0],
                out: Some(WayOut { problem_min: 2.0, problem: breathing(45.0), ascent, divers: 1.0, fade: None }),
                ascent,
                ..Home::default()
            },
            limits: Limits::default(),
            others: [].into(),
        };
        let track = dive.run();
        let escapes = dive.escapes(&track, &dive.home.out.unwrap());
        let found = ends(&dive, &track, 0, 0.0, &escapes).unwrap();
        let begins = track.segments.iter().find(|segment| segment.leg == 1).unwrap().start.clone();
        // Unusable at 0 bar on the gauge is what the cylinder holds at the surface's pressure.
        let unusable_l = dive.cylinders[0].unusable_l;
        let expected = begins.t_min + (begins.litres[0] - 560.0 - unusable_l) / 80.0;
        assert!((found.t_min - expected).abs() < 2e-4, "{found:?} {expected}");
        assert!((found.holds_l - 560.0 - unusable_l).abs() < 0.02 && found.by == By::WayOut);
        // A bailout then just fits, and a minute later does not.
        let lacks = |t_min: f64| {
            dive.escape_from(track.without_clocks_at(t_min), &dive.sources(), &dive.home.out.unwrap()).lacks_l
        };
        assert!(lacks(found.t_min) <= 1e-6 && (lacks(found.t_min + 1.0) - 80.0).abs() < 0.1);
        // Where nothing is left for a way out, the reserve alone ends it, to the last digit.
        let kept = ends(&dive, &track, 0, 100.0, &[]).unwrap();
        assert!((kept.t_min - (begins.t_min + (begins.litres[0] - 100.0) / 80.0)).abs() < 1e-9);
    }
}
