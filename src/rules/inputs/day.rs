//! A plan's dives in order, each with what the dives before it leave behind.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Time;

use super::{Missing, Runs, Simulated, first_bed};
use crate::physics::pressure::ATMOSPHERE_BAR;
use crate::plan::{Dive, Plan, Scope, TeamMember};
use crate::rules::dives::{self, OneDive};
use crate::run::Exposure;

/// A diver's dive with its run, or the facts that lack.
type Ran<'a> = (OneDive<'a>, Result<Simulated<'a>, Vec<Missing>>);

/// Every diver's every dive of a plan as it would go, alternatives among them, in the order of [`dives::of`].
#[derive(Debug, Clone, Default)]
pub struct Day<'a> {
    all: Vec<Ran<'a>>,
    /// Their numbers, by where dive and diver stand in the plan's value.
    numbers: BTreeMap<(usize, usize), usize>,
    /// What each of them begins with of gas that others took, by their numbers.
    used_l: Vec<Arc<BTreeMap<&'a str, f64>>>,
}

impl<'a> Day<'a> {
    /// Runs a plan's dives. Gas, absorbent and oxygen that a dive takes are gone for the next; an alternative begins like
    /// the dive it stands for and leaves nothing behind. What a dive leaves that can't be run is not known, so neither are
    /// the dives after it that go by it.
    pub fn of(scope: &Scope, runs: &Runs, plan: &'a Plan) -> Day<'a> {
        let mut day = Day::default();
        let mut left = Left::default();
        for (number, first) in plan.dives.iter().enumerate() {
            let begins = day.all.len();
            let used_l = Arc::new(left.used_l.clone());
            for dive in dives::of_dive(plan, first) {
                let found = match left.unknown(&dive) {
                    Some(missing) => Err(missing),
                    None => Simulated::of(scope, runs, &dive, &left.before(scope, &dive)),
                };
                day.numbers.insert(stands(dive.dive, dive.member), day.all.len());
                day.all.push((dive, found));
                day.used_l.push(used_l.clone());
            }
            let surface_bar = day.all.get(begins).map_or(ATMOSPHERE_BAR, |(dive, _)| dive.water().surface_bar);
            let dived = day.all.iter().skip(begins).filter(|(dive, _)| std::ptr::eq(dive.dive, first));
            for (dive, found) in dived {
                left.take(scope, dive, found);
            }
            let interval = plan.intervals_min.get(number).and_then(Option::as_ref);
            // An interval that nobody says follows from the times of day, and gives no rest where those are not said either.
            left.rest(
                surface_bar,
                interval.map_or_else(
                    || between_min(first, plan.dives.get(number + 1), &day.all[begins..]),
                    |said| said.value,
                ),
            );
        }
        day
    }

    /// The dives, each with its run or the facts that lack.
    pub fn iter(&self) -> impl Iterator<Item = &(OneDive<'a>, Result<Simulated<'a>, Vec<Missing>>)> {
        self.all.iter()
    }

    /// One of the dives.
    ///
    /// # Errors
    /// The facts that lack; none where another rule speaks of the cause, or the dive is none of this plan's.
    pub fn dive(&self, dive: &OneDive<'_>) -> Result<Simulated<'a>, Vec<Missing>> {
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
        runs: &Runs,
        dive: &OneDive<'_>,
        other: &OneDive<'b>,
    ) -> Result<Simulated<'b>, Vec<Missing>> {
        let Simulated { carried, unit_min, .. } = self.dive(dive)?;
        let number = self.numbers.get(&stands(dive.dive, dive.member));
        let used_l = number.and_then(|number| self.used_l.get(*number));
        Simulated::of(scope, runs, other, &Before { carried, unit_min, used_l: used_l.map(|used| &**used) })
    }
}

/// Minutes between the end of a dive, its last diver's, and the next by their times of day; 0 where they are not said.
fn between_min(first: &Dive, next: Option<&Dive>, ran: &[Ran<'_>]) -> f64 {
    let (Some(began), Some(begins)) = (&first.at, next.and_then(|next| next.at.as_ref())) else { return 0.0 };
    let minute = |time: &Time| f64::from(time.hour()) * 60.0 + f64::from(time.minute());
    let dived = ran.iter().filter(|(dive, _)| std::ptr::eq(dive.dive, first));
    let lasted = dived.filter_map(|(_, found)| found.as_ref().ok()).map(|simulated| simulated.ran.track.end.t_min);
    (minute(&begins.value) - minute(&began.value) - lasted.fold(0.0, f64::max)).max(0.0)
}

fn stands(dive: &Dive, member: &TeamMember) -> (usize, usize) {
    (std::ptr::from_ref(dive).addr(), std::ptr::from_ref(member).addr())
}

/// What dives have left behind so far.
#[derive(Debug, Default)]
struct Left<'a> {
    /// What each diver's body carries.
    bodies: BTreeMap<&'a str, Exposure>,
    /// Free litres taken out of each cylinder.
    used_l: BTreeMap<&'a str, f64>,
    /// Minutes that each unit was on.
    units_min: BTreeMap<&'a str, f64>,
    /// What each bed has taken.
    beds: BTreeMap<String, Exposure>,
    /// Divers and cylinders of which it is not known, and for want of what.
    unknown_bodies: BTreeMap<&'a str, Vec<Missing>>,
    unknown_cylinders: BTreeMap<&'a str, Vec<Missing>>,
}

/// What a dive begins with besides the plan's and the kit's word.
#[derive(Debug, Default)]
pub(super) struct Before<'l> {
    /// What body and absorbent carry.
    pub carried: Exposure,
    /// Minutes that the diver's unit was on.
    pub unit_min: f64,
    used_l: Option<&'l BTreeMap<&'l str, f64>>,
}

impl Before<'_> {
    /// Free litres taken out of a cylinder.
    pub fn used_l(&self, cylinder: &str) -> f64 {
        self.used_l.and_then(|used| used.get(cylinder)).copied().unwrap_or(0.0)
    }
}

impl<'a> Left<'a> {
    fn before(&self, scope: &Scope, dive: &OneDive<'a>) -> Before<'_> {
        let body = self.bodies.get(&*dive.member.name.value).copied().unwrap_or_default();
        let bed = first_bed(scope, dive).and_then(|bed| self.beds.get(&bed.canister.name.value)).copied();
        let Exposure { absorbent_min, co2_l, .. } = bed.unwrap_or_default();
        let unit = dive.member.unit_name.as_ref().and_then(|unit| self.units_min.get(&*unit.value));
        let unit_min = unit.copied().unwrap_or(0.0);
        Before { carried: Exposure { absorbent_min, co2_l, ..body }, unit_min, used_l: Some(&self.used_l) }
    }

    /// The facts for want of which it is not known what a dive begins with.
    fn unknown(&self, dive: &OneDive<'a>) -> Option<Vec<Missing>> {
        let body = self.unknown_bodies.get(&*dive.member.name.value);
        let cylinders =
            dive.member.cylinders.iter().filter_map(|carried| self.unknown_cylinders.get(&*carried.name.value));
        let all: Vec<&Vec<Missing>> = body.into_iter().chain(cylinders).collect();
        if all.is_empty() {
            return None;
        }
        let facts: BTreeSet<&Missing> = all.into_iter().flatten().collect();
        Some(facts.into_iter().cloned().collect())
    }

    fn take(&mut self, scope: &Scope, dive: &OneDive<'a>, found: &Result<Simulated<'a>, Vec<Missing>>) {
        let diver = &*dive.member.name.value;
        match found {
            Ok(simulated) => {
                let (start, end) = (simulated.ran.track.start(), &simulated.ran.track.end);
                // Oxygen counts by the richest mix that the cylinders may hold, inert gas by the leanest.
                let took = simulated.ran.rich_mix().exposure();
                let body = self.bodies.entry(diver).or_default();
                *body = Exposure { absorbent_min: 0.0, co2_l: 0.0, body: end.exposure.body, ..took }.with(*body);
                for (carried, (before, after)) in simulated.kit.iter().zip(start.litres.iter().zip(&end.litres)) {
                    // What open circuit breathed more than there was can't be gone twice.
                    let used = before - after.max(0.0);
                    if used > 0.0 {
                        *self.used_l.entry(&carried.name.value).or_default() += used;
                    }
                }
                if let Some(unit) = &dive.member.unit_name {
                    *self.units_min.entry(&unit.value).or_default() += simulated.ran.high_feed().minutes();
                }
                if let Some(bed) = first_bed(scope, dive) {
                    let taken = self.beds.entry(bed.canister.name.value.clone()).or_default();
                    taken.absorbent_min += end.exposure.absorbent_min;
                    taken.co2_l += end.exposure.co2_l;
                }
            }
            Err(missing) => {
                self.unknown_bodies.insert(diver, missing.clone());
                for carried in &dive.member.cylinders {
                    self.unknown_cylinders.insert(&carried.name.value, missing.clone());
                }
            }
        }
    }

    fn rest(&mut self, surface_bar: f64, minutes: f64) {
        for body in self.bodies.values_mut() {
            *body = body.rested(surface_bar, minutes);
        }
    }
}
