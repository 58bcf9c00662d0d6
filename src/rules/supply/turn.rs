//! The turn: the last moment of the deepest stay from which the diver gets home, and out, before anything fails.

use super::first_end::{batteries, feeding};
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::plan::LegKind;
use crate::run::{Breathing, Profile, Track, WayOut, Why};

/// The turn of a dive.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Turn {
    /// The plan's leg that is the deepest stay, by its number.
    pub leg: usize,
    /// How deep it is, metres.
    pub depth_m: f64,
    /// When the stay ends as planned, minutes since leaving the surface.
    pub planned_min: f64,
    /// The turn, minutes since leaving the surface.
    pub t_min: f64,
    /// The cylinder that the diver lives on there, as the run numbers it.
    pub cylinder: usize,
    /// What its gauge shows at the turn, bar.
    pub gauge_bar: f64,
    /// What fails first.
    pub binds: Binds,
}

/// What fails first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Binds {
    /// The cylinder is at its reserve.
    Reserve,
    /// The way out on open circuit lacks gas.
    WayOut,
    /// The usable absorbent is used up.
    Absorbent,
    /// The oxygen clock of a single exposure is at its limit.
    OxygenClock,
    /// A battery of the unit is empty.
    Battery,
    /// The way home does not end.
    WayHome,
}

impl Binds {
    /// What happens then, in words.
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Binds::Reserve => "only the reserve is left",
            Binds::WayOut => "the bailout ascent takes all that is left",
            Binds::Absorbent => "the absorbent is used up",
            Binds::OxygenClock => "CNS % is at its limit",
            Binds::Battery => "a battery is empty",
            Binds::WayHome => "the ascent does not end",
        }
    }
}

/// A stay is lengthened to so much at most, minutes.
const LONGEST_MIN: f64 = 600.0;
/// The turn is found to this, minutes.
const NARROW_MIN: f64 = 1e-3;

/// The turn on the deepest stay, which is lengthened until something fails; `None` where there is no stay, nothing that
/// the diver lives on is known, something fails before the stay begins, or nothing within ten hours.
pub(crate) fn turn(simulated: &Simulated<'_>) -> Option<Turn> {
    (*simulated.ran.answer("turn", &hangs_on(simulated)?, || found(simulated))).clone()
}

/// All that a turn depends on beside the run.
fn hangs_on(simulated: &Simulated<'_>) -> Option<Vec<f64>> {
    let number = deepest_stay(simulated)?;
    let mut all = vec![number as f64, simulated.leg_min(number)?.1, simulated.carried.clock];
    all.extend(batteries(simulated).into_iter().filter_map(|(_, lasts)| lasts).min_by(f64::total_cmp));
    all.push(f64::NAN);
    all.extend(feeding(simulated).map(|cylinder| cylinder as f64));
    Some(all)
}

fn found(simulated: &Simulated<'_>) -> Option<Turn> {
    let stay = Stay::of(simulated)?;
    // Staying longer never mends anything, so the turn is found by halving.
    let (mut fits, mut over) = (stay.begins_min, stay.begins_min + LONGEST_MIN);
    let mut binds = stay.fails_at(over)?;
    if stay.fails_at(fits).is_some() {
        return None;
    }
    while over - fits > NARROW_MIN {
        let middle = 0.5 * (fits + over);
        match stay.fails_at(middle) {
            Some(fails) => (over, binds) = (middle, fails),
            None => fits = middle,
        }
    }
    let state = stay.track.at(fits);
    Some(Turn {
        leg: stay.number,
        depth_m: state.depth_m(),
        planned_min: stay.planned_min,
        t_min: fits,
        cylinder: stay.cylinder,
        gauge_bar: state.gauge_bar(stay.cylinder)?,
        binds,
    })
}

/// Whether the turn comes within so many minutes after the deepest stay ends as planned.
pub(crate) fn is_close(simulated: &Simulated<'_>, minutes: f64) -> bool {
    let Some(mut beside) = hangs_on(simulated) else { return false };
    beside.push(minutes);
    *simulated.ran.answer("turn is close", &beside, || closes(simulated, minutes))
}

fn closes(simulated: &Simulated<'_>, minutes: f64) -> bool {
    Stay::of(simulated).is_some_and(|stay| {
        stay.fails_at(stay.planned_min).is_none() && stay.fails_at(stay.planned_min + minutes).is_some()
    })
}

/// The deepest stay of a dive, going on and on.
struct Stay<'s, 'a> {
    simulated: &'s Simulated<'a>,
    number: usize,
    begins_min: f64,
    planned_min: f64,
    dive: Profile,
    sources: Vec<Box<dyn Breathing>>,
    track: Track,
    cylinder: usize,
    battery_min: Option<f64>,
}

impl<'s, 'a> Stay<'s, 'a> {
    fn of(simulated: &'s Simulated<'a>) -> Option<Stay<'s, 'a>> {
        let number = deepest_stay(simulated)?;
        let dive = lengthened(&simulated.ran.high_feed_dive(), number)?;
        let track = dive.run();
        Some(Stay {
            simulated,
            number,
            begins_min: track.legs.iter().rev().find(|(_, leg)| leg.why == Why::Asked(number))?.0,
            planned_min: simulated.leg_min(number)?.1,
            sources: dive.sources(),
            cylinder: feeding(simulated).next()?,
            battery_min: batteries(simulated).into_iter().filter_map(|(_, lasts)| lasts).min_by(f64::total_cmp),
            track,
            dive,
        })
    }

    /// What fails first if the stay ends at a moment and the diver goes home, or out, from there.
    fn fails_at(&self, t_min: f64) -> Option<Binds> {
        let now = self.track.at(t_min);
        let lacks = |out: WayOut| self.dive.escape_from(now.clone(), &self.sources, &out).lacks_l > tolerance::LITRES;
        if self.dive.home.out.is_some_and(lacks) {
            return Some(Binds::WayOut);
        }
        let home = self.dive.home_from(now, &self.sources, self.dive.home.ascent);
        if home.never_surfaces().is_some() {
            return Some(Binds::WayHome);
        }
        let end = home.end;
        let kept_l = |cylinder: usize| Some(self.dive.cylinders.get(cylinder)?.reserve_l);
        let holds = |cylinder: usize| end.litres.get(cylinder).copied();
        let below = |cylinder: &usize| holds(*cylinder) < kept_l(*cylinder);
        if feeding(self.simulated).any(|cylinder| below(&cylinder)) {
            Some(Binds::Reserve)
        } else if end.exposure.absorbent_min >= self.dive.limits.absorbent_min {
            Some(Binds::Absorbent)
        } else if self.simulated.carried.clock + end.exposure.clock >= 1.0 {
            Some(Binds::OxygenClock)
        } else if self.battery_min.is_some_and(|lasts| end.t_min - self.track.start().t_min > lasts) {
            Some(Binds::Battery)
        } else {
            None
        }
    }
}

/// The number of the deepest stay, of equals the last; none that leads back out.
fn deepest_stay(simulated: &Simulated<'_>) -> Option<usize> {
    let stays = |number: &usize| {
        simulated
            .dive
            .legs()
            .get(*number)
            .is_some_and(|leg| matches!(leg.kind, LegKind::Stay { .. }) && !leg.leads_out())
    };
    let legs = simulated.ran.track.legs.iter().filter_map(|(_, leg)| match leg.why {
        Why::Asked(number) => Some((number, leg.to_m)),
        _ => None,
    });
    let deepest = legs.filter(|(number, _)| stays(number)).max_by(|a, b| a.1.total_cmp(&b.1));
    deepest.filter(|(_, depth_m)| *depth_m > 0.0).map(|(number, _)| number)
}

/// The dive with a stay that goes on and on.
fn lengthened(dive: &Profile, number: usize) -> Option<Profile> {
    let stay = |dive: &Profile| dive.legs.iter().rposition(|leg| leg.why == Why::Asked(number));
    stay(dive)?;
    Some(dive.alike(|dive| {
        let Some(stay) = stay(dive) else { return };
        dive.legs.truncate(stay + 1);
        if let Some(leg) = dive.legs.last_mut() {
            leg.lasts_min = LONGEST_MIN;
        }
    }))
}
