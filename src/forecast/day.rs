//! A plan's dives in order, each with what the dives before it leave behind.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::carryover::{Before, Carryover, Rest};
use super::dives::{self, DiverDive};
use super::timeline::{DAY_MIN, DiveId, Neighbour, Timed, Timeline, Times, UnderWater, minute};
use super::{Missing, Simulated, SimulationCache};
use crate::physics::pressure::ATMOSPHERE_BAR;
use crate::plan::{Dive, Plan, Scope};

/// A diver's dive with its run, or the facts that lack.
type Dived<'a> = (DiverDive<'a>, Result<Simulated<'a>, Vec<Missing>>);

/// How a dive that was run is taken.
type How<'a> = fn(&Simulated<'a>) -> Simulated<'a>;

/// Every diver's every dive of a plan as it would go, alternatives among them, in the order of [`dives::of`].
#[derive(Debug, Clone, Default)]
pub struct Day<'a> {
    all: Vec<Dived<'a>>,
    /// Their numbers, by where dive and diver stand.
    numbers: BTreeMap<DiveId, usize>,
    /// When the plan's dives are.
    pub(super) own: Vec<Timed<'a>>,
    /// When those of the earlier plans are that leave something for them.
    pub(super) before: Vec<Timed<'a>>,
    /// What each of them begins with of gas that others took, by their numbers.
    used_l: Vec<Arc<BTreeMap<&'a str, f64>>>,
}

impl<'a> Day<'a> {
    /// Runs a plan's dives after those of earlier plans. Gas, absorbent and oxygen that a dive takes are gone for the next;
    /// an alternative begins like the dive it stands for and leaves nothing behind. What a dive leaves that can't be run is
    /// not known, so neither are the dives after it that go by it; of an earlier plan it leaves nothing.
    ///
    /// A plan whose divers are still under water by the word of another leaves nothing: it is another word on the same dive,
    /// or can't be dived.
    pub fn of(scope: &Scope, runs: &SimulationCache, plan: &'a Plan, earlier: &'a [Neighbour]) -> Day<'a> {
        Day::run(scope, runs, plan, earlier, Simulated::clone)
    }

    /// The same as people are shown it: each dive straight up where nothing says its stops, and what such a dive leaves.
    pub fn as_shown(scope: &Scope, runs: &SimulationCache, plan: &'a Plan, earlier: &'a [Neighbour]) -> Day<'a> {
        Day::run(scope, runs, plan, earlier, Simulated::shown)
    }

    fn run(scope: &Scope, runs: &SimulationCache, plan: &'a Plan, earlier: &'a [Neighbour], how: How<'a>) -> Day<'a> {
        let mut left = Carryover::default();
        let (mut ended, mut under_water): (Option<Ended>, _) = (None, UnderWater::default());
        let mut day = Day::default();
        for before in earlier {
            if under_water.is_begun_in(&before.plan) {
                continue;
            }
            let so_far = left.clone();
            left.renewed(&before.scope, &before.plan, ended.as_ref().map(|ended| ended.rest_until(&before.plan)));
            let mut passed = Day::default();
            passed.follow(&mut left, &before.scope, runs, &before.plan, how);
            left.forget_unknown();
            let mut with_it = UnderWater::default();
            with_it.follow(&passed.own);
            if with_it.is_begun_in(plan) {
                left = so_far;
                day.before.extend(passed.own);
                continue;
            }
            under_water.follow(&passed.own);
            ended = Some(Ended::of(&before.plan, &passed));
            day.before.extend(passed.own);
        }
        left.renewed(scope, plan, ended.as_ref().map(|ended| ended.rest_until(plan)));
        day.follow(&mut left, scope, runs, plan, how);
        day
    }

    /// Runs a plan's dives, each with what is left for it.
    fn follow(
        &mut self,
        left: &mut Carryover<'a>,
        scope: &Scope,
        runs: &SimulationCache,
        plan: &'a Plan,
        how: How<'a>,
    ) {
        for (number, first) in plan.dives.iter().enumerate() {
            let begins = self.all.len();
            let used_l = Arc::new(left.used_l.clone());
            for dive in dives::of_dive(plan, first) {
                let found = match left.unknown(&dive) {
                    Some(missing) => Err(missing),
                    None => {
                        Simulated::of(scope, runs, &dive, &|of| left.before(scope, of)).map(|simulated| how(&simulated))
                    }
                };
                self.numbers.insert(dive.id(), self.all.len());
                self.all.push((dive, found));
                self.used_l.push(used_l.clone());
            }
            let ran = self.all.get(begins..).unwrap_or_default();
            let surface_bar = ran.first().map_or(ATMOSPHERE_BAR, |(dive, _)| dive.water().surface_bar);
            for (dive, found) in ran.iter().filter(|(dive, _)| dive.dive.header == first.header) {
                left.take(scope, dive, found);
            }
            let interval = |number: usize| plan.intervals_min.get(number)?.as_ref().map(|interval| interval.value);
            let before = number.checked_sub(1).and_then(|before| Some((self.own.get(before)?, interval(before))));
            let timed = Timed::of(plan, first, before, ran.iter().map(|(dive, found)| (dive, found)));
            // What is said and what the times of day leave: the less of the two, and none where neither is known.
            let next = plan.dives.get(number + 1).and_then(|next| timed_at(plan, next));
            let by_times = next.zip(timed.ends_min()).map(|(next, ended)| (next - ended).max(0.0));
            let rests = interval(number).into_iter().chain(by_times).reduce(f64::min);
            left.rest(surface_bar, rests.unwrap_or(0.0));
            self.own.push(timed);
        }
    }

    /// When its dives are, those before them, and those of the plans beside it.
    pub(crate) fn timeline(&self, runs: &SimulationCache, beside: &'a [Neighbour]) -> Timeline<'a> {
        let timed = |other: &'a Neighbour| {
            // Each plan of a crowded day is asked for by all others of it.
            let times = || Times::of(&Day::of(&other.scope, runs, &other.plan, &[]).own);
            other.times.get_or_init(times).timed(&other.plan)
        };
        Timeline { before: self.before.clone(), own: self.own.clone(), beside: beside.iter().flat_map(timed).collect() }
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
        let number = self.numbers.get(&dive.id());
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
        let number = self.numbers.get(&dive.id());
        let used_l = number.and_then(|number| self.used_l.get(*number)).map(|used| &**used);
        // Whoever shares gas with the diver begins as in the dive that is replaced, by name.
        let before = |of: &DiverDive<'b>| {
            let same = |one: &&Dived<'_>| {
                one.0.dive.header == dive.dive.header && one.0.member.name.value == of.member.name.value
            };
            let found = self.all.iter().find(same).and_then(|(_, found)| found.as_ref().ok());
            let (carried, unit_min, trip) = found.map(|one| (one.carried, one.unit_min, one.trip)).unwrap_or_default();
            Before { carried, unit_min, trip, recent: None, used_l }
        };
        Simulated::of(scope, runs, other, &before)
    }
}

/// When a plan's last dive ended.
#[derive(Debug, Clone, Copy)]
struct Ended {
    on: Option<Date>,
    /// As far as it is known.
    at_min: Option<f64>,
    surface_bar: f64,
}

/// Between plans of different days that say no time of day so much less than the days in between is taken for rest,
/// minutes: half a day.
const UNSAID_MIN: f64 = 720.0;

impl Ended {
    fn of(plan: &Plan, day: &Day<'_>) -> Ended {
        let surface_bar = day.all.last().map_or(ATMOSPHERE_BAR, |(dive, _)| dive.water().surface_bar);
        let at_min = day.own.last().and_then(Timed::ends_min);
        Ended { on: plan.on.as_ref().map(|on| on.value), at_min, surface_bar }
    }

    /// The rest until a plan begins.
    fn rest_until(&self, plan: &Plan) -> Rest {
        let days = self
            .on
            .zip(plan.on.as_ref())
            .map_or(0, |(ended, on)| ended.until(on.value).map_or(0, |span| span.get_days()));
        let begins = plan.dives.first().and_then(|first| timed_at(plan, first));
        let minutes = match (self.at_min, begins) {
            (Some(ended), Some(begins)) => begins - ended,
            _ => f64::from(days) * DAY_MIN - UNSAID_MIN,
        };
        Rest { minutes: minutes.max(0.0), surface_bar: self.surface_bar }
    }
}

/// When a dive is to begin by its time of day.
fn timed_at(plan: &Plan, dive: &Dive) -> Option<f64> {
    dive.at.as_ref().map(|at| minute(plan.on.as_ref().map(|on| on.value), at.value))
}
