//! A plan's dives in order, each with what the dives before it leave behind.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::{Date, Time};

use super::carryover::{Before, Carryover};
use super::{Missing, Simulated, SimulationCache};
use crate::forecast::dives::{self, DiverDive};
use crate::physics::pressure::ATMOSPHERE_BAR;
use crate::plan::{Dive, Plan, Scope, TeamMember};

/// A diver's dive with its run, or the facts that lack.
type Dived<'a> = (DiverDive<'a>, Result<Simulated<'a>, Vec<Missing>>);

/// Every diver's every dive of a plan as it would go, alternatives among them, in the order of [`dives::of`].
#[derive(Debug, Clone, Default)]
pub struct Day<'a> {
    all: Vec<Dived<'a>>,
    /// Their numbers, by where dive and diver stand in the plan's value.
    numbers: BTreeMap<(usize, usize), usize>,
    /// What each of them begins with of gas that others took, by their numbers.
    used_l: Vec<Arc<BTreeMap<&'a str, f64>>>,
}

impl<'a> Day<'a> {
    /// Runs a plan's dives after those of earlier plans. Gas, absorbent and oxygen that a dive takes are gone for the next;
    /// an alternative begins like the dive it stands for and leaves nothing behind. What a dive leaves that can't be run is
    /// not known, so neither are the dives after it that go by it; of an earlier plan it leaves nothing.
    pub fn of(scope: &Scope, runs: &SimulationCache, plan: &'a Plan, earlier: &'a [Earlier]) -> Day<'a> {
        let mut left = Carryover::default();
        let mut ended: Option<Ended> = None;
        for before in earlier {
            left.renewed(&before.scope, &before.plan, ended.as_ref());
            let mut passed = Day::default();
            passed.follow(&mut left, &before.scope, runs, &before.plan);
            left.forget_unknown();
            ended = Some(Ended::of(&before.plan, &passed));
        }
        let mut day = Day::default();
        left.renewed(scope, plan, ended.as_ref());
        day.follow(&mut left, scope, runs, plan);
        day
    }

    /// Runs a plan's dives, each with what is left for it.
    fn follow(&mut self, left: &mut Carryover<'a>, scope: &Scope, runs: &SimulationCache, plan: &'a Plan) {
        for (number, first) in plan.dives.iter().enumerate() {
            let begins = self.all.len();
            let used_l = Arc::new(left.used_l.clone());
            for dive in dives::of_dive(plan, first) {
                let found = match left.unknown(&dive) {
                    Some(missing) => Err(missing),
                    None => Simulated::of(scope, runs, &dive, &|of| left.before(scope, of)),
                };
                self.numbers.insert(stands(dive.dive, dive.member), self.all.len());
                self.all.push((dive, found));
                self.used_l.push(used_l.clone());
            }
            let surface_bar = self.all.get(begins).map_or(ATMOSPHERE_BAR, |(dive, _)| dive.water().surface_bar);
            let dived = self.all.iter().skip(begins).filter(|(dive, _)| std::ptr::eq(dive.dive, first));
            for (dive, found) in dived {
                left.take(scope, dive, found);
            }
            let interval = plan.intervals_min.get(number).and_then(Option::as_ref);
            // An interval that nobody says follows from the times of day, and gives no rest where those are not said either.
            let by_times =
                || between_min(first, plan.dives.get(number + 1), self.all.get(begins..).unwrap_or_default());
            left.rest(surface_bar, interval.map_or_else(by_times, |said| said.value));
        }
    }

    /// The dives, each with its run or the facts that lack.
    pub fn iter(&self) -> impl Iterator<Item = &(DiverDive<'a>, Result<Simulated<'a>, Vec<Missing>>)> {
        self.all.iter()
    }

    /// One of the dives.
    ///
    /// # Errors
    /// The facts that lack; none where another rule speaks of the cause, or the dive is none of this plan's.
    pub fn dive(&self, dive: &DiverDive<'_>) -> Result<Simulated<'a>, Vec<Missing>> {
        let number = self.numbers.get(&stands(dive.dive, dive.member));
        number.and_then(|number| self.all.get(*number)).map_or_else(|| Err(Vec::new()), |(_, found)| found.clone())
    }

    /// Another dive in the place of one of these: it begins with what the dives before have left.
    ///
    /// # Errors
    /// The facts that lack of either; none where another rule speaks of the cause.
    pub fn instead<'b>(
        &self,
        scope: &Scope,
        runs: &SimulationCache,
        dive: &DiverDive<'_>,
        other: &DiverDive<'b>,
    ) -> Result<Simulated<'b>, Vec<Missing>> {
        self.dive(dive)?;
        let number = self.numbers.get(&stands(dive.dive, dive.member));
        let used_l = number.and_then(|number| self.used_l.get(*number)).map(|used| &**used);
        // Whoever shares gas with the diver begins as in the dive that is replaced, by name.
        let before = |of: &DiverDive<'b>| {
            let same = |one: &&Dived<'_>| {
                std::ptr::eq(one.0.dive, dive.dive) && one.0.member.name.value == of.member.name.value
            };
            let found = self.all.iter().find(same).and_then(|(_, found)| found.as_ref().ok());
            let (carried, unit_min, trip) = found.map(|one| (one.carried, one.unit_min, one.trip)).unwrap_or_default();
            Before { carried, unit_min, trip, recent: None, used_l }
        };
        Simulated::of(scope, runs, other, &before)
    }
}

/// Minutes between the end of a dive, its last diver's, and the next by their times of day; 0 where they are not said.
fn between_min(first: &Dive, next: Option<&Dive>, ran: &[Dived<'_>]) -> f64 {
    let (Some(began), Some(begins)) = (&first.at, next.and_then(|next| next.at.as_ref())) else { return 0.0 };
    let dived = ran.iter().filter(|(dive, _)| std::ptr::eq(dive.dive, first));
    let lasted = dived.filter_map(|(_, found)| found.as_ref().ok()).map(|simulated| simulated.ran.track.end.t_min);
    (minute_of_day(&begins.value) - minute_of_day(&began.value) - lasted.fold(0.0, f64::max)).max(0.0)
}

/// A plan whose dives lie before another's, or beside them, and what its names mean.
#[derive(Debug, Clone)]
pub struct Earlier {
    /// The plan.
    pub plan: Arc<Plan>,
    /// What its names mean.
    pub scope: Arc<Scope>,
}

/// When a plan's last dive ended.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ended {
    on: Option<Date>,
    /// Minutes of that day, as far as it is known.
    at_min: Option<f64>,
    surface_bar: f64,
}

/// Between plans of different days that say no time of day so much less than the days in between is taken for rest,
/// minutes: half a day.
const UNSAID_MIN: f64 = 720.0;
const DAY_MIN: f64 = 1440.0;

impl Ended {
    fn of(plan: &Plan, day: &Day<'_>) -> Ended {
        let last = plan.dives.last();
        let ran = day.all.iter().filter(|(dive, _)| last.is_some_and(|last| std::ptr::eq(dive.dive, last)));
        let lasted = ran.filter_map(|(_, found)| found.as_ref().ok()).map(|simulated| simulated.ran.track.end.t_min);
        let lasted = lasted.fold(0.0, f64::max);
        let at_min = last.and_then(|last| last.at.as_ref()).map(|at| minute_of_day(&at.value) + lasted);
        let surface_bar = day.all.last().map_or(ATMOSPHERE_BAR, |(dive, _)| dive.water().surface_bar);
        Ended { on: plan.on.as_ref().map(|on| on.value), at_min, surface_bar }
    }

    /// The rest until a plan begins: its minutes, and the pressure of the air meanwhile, bar.
    pub(super) fn rest_until(&self, plan: &Plan) -> (f64, f64) {
        let (Some(ended), Some(on)) = (self.on, &plan.on) else { return (0.0, self.surface_bar) };
        let days = f64::from(ended.until(on.value).map_or(0, |span| span.get_days()));
        let begins = plan.dives.first().and_then(|first| first.at.as_ref()).map(|at| minute_of_day(&at.value));
        let minutes = match (self.at_min, begins) {
            (Some(ended), Some(begins)) => days * DAY_MIN + begins - ended,
            _ => days * DAY_MIN - UNSAID_MIN,
        };
        (minutes.max(0.0), self.surface_bar)
    }
}

fn minute_of_day(time: &Time) -> f64 {
    f64::from(time.hour()) * 60.0 + f64::from(time.minute())
}

fn stands(dive: &Dive, member: &TeamMember) -> (usize, usize) {
    (std::ptr::from_ref(dive).addr(), std::ptr::from_ref(member).addr())
}
