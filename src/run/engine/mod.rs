//! The simulator itself: from a state, along a route, on the sources at hand, to a track.

mod body;
mod cylinder;
mod events;
mod exposure;
mod inside;
mod legs;
mod limits;
mod loop_gas;
mod others;
mod regime;
mod route;
mod state;
mod track;
mod watch;
mod work;

pub use body::{Body, FOLLOWED_BAR};
pub use cylinder::{Cylinder, Draw, Draws, Filled, Purpose};
pub use events::{Event, EventKind};
pub use exposure::Exposure;
pub use inside::{Inside, Laid, Way, WayIn};
pub use legs::{Act, Leg, Why};
pub use limits::Limits;
pub use loop_gas::LoopGas;
pub use others::{Others, Sharing};
pub use regime::{Along, Breath, ClockFloor, Crossing, Regime, Scrubber, Volume};
pub use route::{Planned, Route};
pub use state::State;
pub use track::{Ended, Extremes, Halt, Segment, Spent, Stuck, Track};
pub use work::Work;

use super::Breathing;
use crate::physics::consumption::{SUIT_L_PER_BAR, WING_AT_SURFACE_L, WING_L};
use crate::physics::tolerance;

/// A leg that changes depth faster than this is slowed down to it, bar a minute: nobody sinks 1000 m in a minute.
const FASTEST_BAR_PER_MIN: f64 = 100.0;
/// A course that asks for more legs in a row without any time in them goes nowhere.
const IDLE_LEGS: usize = 1000;
/// The suit and the wing take their share along the way down.
const INFLATION_L_PER_BAR: f64 = SUIT_L_PER_BAR + WING_L;

#[cfg(debug_assertions)]
thread_local! {
    static RUNS: std::cell::Cell<u64> = const { std::cell::Cell::new(0) };
}

/// How many runs this thread has made so far: for tests that hold it to account, in builds that check their own assertions.
#[cfg(debug_assertions)]
pub fn runs_so_far() -> u64 {
    RUNS.get()
}

/// Runs a dive: from a state, along a course, on the sources at hand.
///
/// Bounded whatever the numbers: at most [`Limits::segments`] pieces and [`Limits::longest_min`] minutes, then the track
/// ends as [`Ended::Bounded`]. A course that asks for what is no number ends it as [`Ended::Nonsense`].
pub fn run(start: State, course: &mut dyn Route, sources: &[Box<dyn Breathing>], limits: &Limits) -> Track {
    #[cfg(debug_assertions)]
    RUNS.set(RUNS.get() + 1);
    let mut track = Track::new(start.clone());
    let begun = start.t_min;
    let (mut now, mut idle) = (start, 0);
    let ended = loop {
        let Some(leg) = course.next(&now, limits) else { break Ended::Route };
        if !leg.is_sane() || !now.is_sane() {
            break Ended::Nonsense;
        }
        if now.t_min - begun > limits.longest_min || idle > IDLE_LEGS {
            break Ended::Bounded;
        }
        idle = if leg.lasts_min > tolerance::INSTANT_MIN { 0 } else { idle + 1 };
        track.begin_leg(now.t_min, leg);
        now.begin_way(&leg);
        act(&mut now, &leg, sources, &mut track);
        now.mark_stop(&leg);
        if let Some(ended) = follow(&mut now, leg, sources, limits, &mut track) {
            break ended;
        }
        now.inside.end();
        now.mark_stop(&leg);
    };
    now.bar_per_min = 0.0;
    track.finish(now, ended);
    track
}

/// What a leg asks for at its start.
fn act(now: &mut State, leg: &Leg, sources: &[Box<dyn Breathing>], track: &mut Track) {
    let (purpose, event) = match leg.act {
        Act::None => return,
        Act::SetPoint(set_point) => {
            now.set_point = Some(set_point);
            return;
        }
        Act::Breathe(source) => {
            now.source = source;
            (Purpose::MakeUp, Crossing::TakenUp)
        }
        Act::LayDown(cylinder) => {
            now.laid = now.laid.with(cylinder);
            now.inside.lay_down(cylinder);
            return;
        }
        Act::TakeUp(cylinder) => {
            now.laid = now.laid.without(cylinder);
            now.inside.take_up(cylinder);
            return;
        }
        Act::Check(cylinder, litres) => {
            let litres = now.to_be_had_l(cylinder).min(litres);
            track.spend_from(now, cylinder, Purpose::Check, litres);
            return;
        }
        Act::Flush(volumes) => (Purpose::Flush, Crossing::Flush(volumes)),
    };
    let before = now.litres.clone();
    let told = sources.get(now.source).and_then(|source| source.cross(now, event));
    for (cylinder, (before, after)) in before.iter().zip(&now.litres).enumerate() {
        if before != after {
            track.spend(Spent { t_min: now.t_min, cylinder, purpose, litres: before - after });
        }
    }
    if let Some(kind) = told {
        track.tell(now.t_min, kind);
    }
}

/// Follows one leg to its end; why the run ends there, if it does.
fn follow(
    now: &mut State,
    mut leg: Leg,
    sources: &[Box<dyn Breathing>],
    limits: &Limits,
    track: &mut Track,
) -> Option<Ended> {
    let target_bar = now.water.pressure_bar(leg.to_m);
    let change_bar = target_bar - now.bar;
    leg.lasts_min = leg.lasts_min.max(change_bar.abs() / FASTEST_BAR_PER_MIN);
    now.bar_per_min = if leg.lasts_min > 0.0 { change_bar / leg.lasts_min } else { 0.0 };
    if let Some(cylinder) = now.inflating()
        && now.bar_per_min > 0.0
        && now.at_surface()
    {
        track.spend_from(now, cylinder, Purpose::Inflation, WING_L * now.bar);
    }
    let (mut idle, mut pieces) = (0, 0);
    while leg.lasts_min > tolerance::INSTANT_MIN {
        let Some(source) = sources.get(now.source) else { return Some(Ended::NoSource) };
        if !source.is_sane() {
            return Some(Ended::Nonsense);
        }
        let mut regime = source.regime(now, &leg);
        if let Some(cylinder) = now.inflating()
            && now.bar_per_min > 0.0
        {
            regime.draws.push(Draw::steady(cylinder, Purpose::Inflation, INFLATION_L_PER_BAR * now.bar_per_min));
        }
        let (minutes, crossing) = next_event(now, &regime, leg.lasts_min);
        idle = if minutes > tolerance::INSTANT_MIN { 0 } else { idle + 1 };
        if idle > 32 || track.segments.len() >= limits.segments || pieces >= limits.segments {
            return Some(Ended::Bounded);
        }
        if let Some(kind) = regime.notice {
            track.tell(now.t_min, kind);
        }
        let segment = Segment::new(now, minutes, regime, &leg, track.legs.len() - 1);
        let end = segment.end();
        if !limits.end_only {
            track.watch(&segment, &end, limits);
        }
        *now = end;
        leg.lasts_min -= minutes;
        match crossing {
            None => {}
            Some(Crossing::Empty(cylinder)) => {
                now.run_dry(cylinder);
                track.tell(now.t_min, EventKind::CylinderEmpty(cylinder));
            }
            Some(crossing) => {
                if let Some(kind) = source.cross(now, crossing) {
                    track.tell(now.t_min, kind);
                }
            }
        }
        pieces += 1;
        if minutes > 0.0 && !limits.end_only {
            track.segments.push(segment);
        }
    }
    let came_up = now.bar_per_min < 0.0;
    now.bar = target_bar;
    now.bar_per_min = 0.0;
    if let Some(cylinder) = now.inflating()
        && came_up
        && now.at_surface()
    {
        track.spend_from(now, cylinder, Purpose::Inflation, WING_AT_SURFACE_L * now.bar);
    }
    None
}

/// The regime's own event, a cylinder that runs empty, or the leg's end (`None`): whichever is first.
fn next_event(now: &State, regime: &Regime, left_min: f64) -> (f64, Option<Crossing>) {
    let mut first = (left_min, None);
    if let Some((minutes, crossing)) = regime.until
        && minutes < first.0
    {
        first = (minutes.max(0.0), Some(crossing));
    }
    for (index, (cylinder, litres)) in now.kit.iter().zip(&now.litres).enumerate() {
        let others_l = |minutes: f64| now.others_l(index, minutes);
        if let Some(minutes) = regime.draws.minutes_to_draw(index, litres - cylinder.unusable_l, first.0, others_l)
            && minutes < first.0
        {
            first = (minutes, Some(Crossing::Empty(index)));
        }
    }
    first
}
