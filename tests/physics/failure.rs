//! A feed that fails: how long the loop lasts if the diver stays, and what is breathed on the way up.

use leadsman::run::{Circuit, EventKind, Leg, Limits, Planned, Profile, State, Why, Work, run};

/// Which feeds of a semi-closed loop fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct FeedFails {
    /// The constant feed.
    pub constant: bool,
    /// The controlled feed.
    pub controlled: bool,
    /// The make-up valve.
    pub make_up: bool,
}

/// What a failed feed leads to, from one moment and at one work level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedFailure {
    /// Minutes until the loop's oxygen is below the floor, the diver staying at depth; `None` if it never is.
    pub to_floor_min: Option<f64>,
    /// Minutes until the diver may faint, staying at depth.
    pub to_faint_min: Option<f64>,
    /// Minutes until the loop is too short of gas to breathe from, staying at depth.
    pub to_short_min: Option<f64>,
    /// The least partial pressure of oxygen on a direct way up begun at once, bar.
    pub least_po2_going_up_bar: f64,
    /// The partial pressure of oxygen when it arrives at the surface, bar.
    pub po2_at_surface_bar: f64,
}

/// The longest stay that is looked at, minutes.
const STAYS_MIN: f64 = 600.0;

/// What follows when feeds of a semi-closed loop fail at a moment of a dive, the diver working so hard, going up at
/// `rate_m_per_min` if at all. `None` for another apparatus, or a rate that is not above 0.
///
/// A cylinder that has run empty is a failure of all three.
pub fn feed_failure(
    dive: &Profile,
    from: &State,
    fails: FeedFails,
    work: Work,
    rate_m_per_min: f64,
) -> Option<FeedFailure> {
    let Circuit::SemiClosed(mut unit) = dive.circuit else { return None };
    if !(rate_m_per_min > 0.0 && rate_m_per_min.is_finite()) {
        return None;
    }
    if fails.constant {
        unit.feed.constant_lpm = 0.0;
    }
    if fails.controlled {
        unit.feed.controlled_lpm = 0.0;
    }
    if fails.make_up {
        unit.make_up_lpm = 0.0;
    }
    let worse = Profile { circuit: Circuit::SemiClosed(unit), ..dive.clone() };
    let sources = worse.sources();
    let limits = Limits { absorbent_min: f64::INFINITY, ..dive.limits };
    let (begun, depth_m) = (from.t_min, from.depth_m().max(0.0));

    let stay = [Leg::new(depth_m, STAYS_MIN, work, Why::Asked(0))];
    let staying = run(from.clone(), &mut Planned::new(&stay), &sources, &limits);
    let after = |kind: EventKind| staying.first(kind).map(|event| event.t_min - begun);
    let under = |value: f64, least: f64| if value < least { Some(0.0) } else { None };

    let up = [Leg::new(0.0, depth_m / rate_m_per_min, work, Why::WayHome)];
    let going_up = run(from.clone(), &mut Planned::new(&up), &sources, &limits);
    let now_bar = from.breathed.o2 * from.bar;
    let extremes = going_up.extremes(begun, &Limits { band_o2: 0.0, ..limits });
    Some(FeedFailure {
        to_floor_min: under(from.breathed.o2, limits.floor_o2).or_else(|| after(EventKind::BelowFloor)),
        to_faint_min: under(now_bar, limits.faint_bar).or_else(|| after(EventKind::Faint)),
        to_short_min: after(EventKind::LoopShort),
        least_po2_going_up_bar: extremes.map_or(now_bar, |extremes| extremes.least_po2_bar.0),
        po2_at_surface_bar: going_up.end.breathed.o2 * going_up.end.bar,
    })
}
