//! What dives leave behind: for the next one of a plan, and for the next plan.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::last_day::Recent;
use super::{Missing, Simulated, first_canister};
use crate::forecast::dives::DiverDive;
use crate::plan::{Plan, Record, Scope, as_of};
use crate::run::{Body, Exposure, Leg, Profile, Track, Why};
use crate::words::LimitName;

/// Time at the surface between two plans.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rest {
    /// Its minutes.
    pub minutes: f64,
    /// The pressure of the air meanwhile, bar.
    pub surface_bar: f64,
}

/// What dives have left behind so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Carryover<'a> {
    /// What each diver's body carries.
    bodies: BTreeMap<&'a str, Exposure>,
    /// Free litres taken out of each cylinder.
    pub(super) used_l: BTreeMap<&'a str, f64>,
    /// Minutes that each unit was on.
    units_min: BTreeMap<&'a str, f64>,
    /// What oxygen did to each diver's lungs on the days in a row that end with the last.
    trips: BTreeMap<&'a str, Trip>,
    /// The dives of each diver that some of the last 24 hours lie in.
    recent: BTreeMap<&'a str, Vec<Recent>>,
    /// What each bed has taken.
    beds: BTreeMap<String, Exposure>,
    /// Divers and cylinders of which it is not known, and for want of what.
    unknown_bodies: BTreeMap<&'a str, Vec<Missing>>,
    unknown_cylinders: BTreeMap<&'a str, Vec<Missing>>,
    /// The day of the last dive that any of it is from.
    day: Option<Date>,
}

/// What a dive begins with besides the plan's and the kit's word.
#[derive(Debug, Default)]
pub(super) struct Before<'l> {
    /// What body and absorbent carry.
    pub carried: Exposure,
    /// Minutes that the diver's unit was on.
    pub unit_min: f64,
    /// What oxygen did to the diver's lungs on the days in a row so far.
    pub trip: Trip,
    /// The diver's dives of the last 24 hours; `None` where what they add is in `carried` already.
    pub(super) recent: Option<&'l [Recent]>,
    pub(super) used_l: Option<&'l BTreeMap<&'l str, f64>>,
}

/// Days in a row of a diver's dives.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Trip {
    /// How many they are, the day that is asked about among them; 0 where nothing tells what day it is.
    pub days: usize,
    /// Pulmonary units that they took.
    pub units: f64,
    last: Option<Date>,
}

impl Trip {
    /// The trip as it is on a day, before that day's next dive.
    fn on(self, day: Option<Date>) -> Trip {
        let between = self.last.zip(day).map(|(last, day)| last.until(day).map_or(i32::MAX, |span| span.get_days()));
        match between {
            Some(0) => self,
            Some(1) => Trip { days: self.days + 1, last: day, ..self },
            // A day without a dive ends it.
            _ => Trip { days: usize::from(day.is_some()), units: 0.0, last: day },
        }
    }
}

impl Before<'_> {
    /// Free litres taken out of a cylinder.
    pub(super) fn used_l(&self, cylinder: &str) -> f64 {
        self.used_l.and_then(|used| used.get(cylinder)).copied().unwrap_or(0.0)
    }
}

impl<'a> Carryover<'a> {
    pub(super) fn before(&self, scope: &Scope, dive: &DiverDive<'a>) -> Before<'_> {
        let body = self.bodies.get(&*dive.member.name.value).copied().unwrap_or_default();
        let bed = first_canister(scope, dive).and_then(|bed| self.beds.get(&bed.canister.name.value)).copied();
        let Exposure { absorbent_min, co2_l, .. } = bed.unwrap_or_default();
        let unit = dive.member.unit_name.as_ref().and_then(|unit| self.units_min.get(&*unit.value));
        let unit_min = unit.copied().unwrap_or(0.0);
        let trip = self.trips.get(&*dive.member.name.value).copied().unwrap_or_default().on(dive.day());
        let recent = Some(self.recent.get(&*dive.member.name.value).map_or(&[][..], Vec::as_slice));
        let carried = Exposure { absorbent_min, co2_l, day: 0.0, ..body };
        Before { carried, unit_min, trip, recent, used_l: Some(&self.used_l) }
    }

    /// The facts for want of which it is not known what a dive begins with.
    pub(super) fn unknown(&self, dive: &DiverDive<'a>) -> Option<Vec<Missing>> {
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

    pub(super) fn take(&mut self, scope: &Scope, dive: &DiverDive<'a>, found: &Result<Simulated<'a>, Vec<Missing>>) {
        let diver = &*dive.member.name.value;
        self.day = dive.day().or(self.day);
        // A dive that nobody can reckon is a day of the trip all the same.
        let trip = self.trips.entry(diver).or_default();
        *trip = trip.on(dive.day());
        let recorded = dive.dive.dived.iter().rfind(|record| record.diver.value == dive.member.name.value);
        match found {
            Ok(simulated) => {
                let (start, end) = (simulated.ran.track.start(), &simulated.ran.track.end);
                let record = recorded.map(|record| Recorded::of(record, simulated));
                // Oxygen counts by the richest mix that the cylinders may hold, inert gas by the leanest.
                let mut took = simulated.ran.rich_mix().exposure();
                let mut body_left = end.exposure.body;
                if let Some(track) = record.as_ref().and_then(|record| record.track.as_ref()) {
                    let dived = track.exposure();
                    took.clock = took.clock.max(dived.clock);
                    took.day = took.day.max(dived.day);
                    took.units = took.units.max(dived.units);
                    body_left = worse(body_left, dived.body);
                }
                trip.units += took.units;
                let recent = self.recent.entry(diver).or_default();
                recent.push(Recent::of(&simulated.ran, took.day));
                recent.iter_mut().for_each(|dive| dive.ago_min += end.t_min);
                let body = self.bodies.entry(diver).or_default();
                *body = Exposure { absorbent_min: 0.0, co2_l: 0.0, body: body_left, ..took }.with(*body);
                for (number, (carried, (before, after))) in
                    simulated.kit.iter().zip(start.litres.iter().zip(&end.litres)).enumerate()
                {
                    // What open circuit breathed more than there was can't be gone twice; what others drew is theirs.
                    let others = end.others.as_ref();
                    let others_l = others.map_or(0.0, |others| others.litres(number, start.t_min, end.t_min));
                    let planned = (before - after.max(0.0) - others_l).max(0.0);
                    let used = record.as_ref().map_or(planned, |record| planned.max(record.used_l(number)));
                    if used > 0.0 {
                        *self.used_l.entry(&carried.name.value).or_default() += used;
                    }
                }
                if let Some(unit) = &dive.member.unit_name {
                    *self.units_min.entry(&unit.value).or_default() += simulated.ran.high_feed().minutes();
                }
                if let Some(bed) = first_canister(scope, dive) {
                    let taken = self.beds.entry(bed.canister.name.value.clone()).or_default();
                    let dived = recorded.and_then(|record| record.beds_min.0.as_ref()).map_or(0.0, |bed| bed.value);
                    taken.absorbent_min += end.exposure.absorbent_min.max(dived);
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

    pub(super) fn rest(&mut self, surface_bar: f64, minutes: f64) {
        for body in self.bodies.values_mut() {
            *body = body.rested(surface_bar, minutes);
        }
        for recent in self.recent.values_mut() {
            recent.iter_mut().for_each(|dive| dive.ago_min += minutes);
            recent.retain(Recent::counts);
        }
    }

    /// What is left of all that when a plan begins: the divers rested, and what was filled, packed and charged since is
    /// new.
    pub(super) fn renewed(&mut self, scope: &Scope, plan: &'a Plan, rest: Option<Rest>) {
        let (Some(rest), Some(on), Some(last)) = (rest, &plan.on, self.day) else { return };
        self.rest(rest.surface_bar, rest.minutes);
        for body in self.bodies.values_mut() {
            // The sum of a single day.
            if on.value > last {
                body.units = 0.0;
            }
        }
        let on = on.value;
        self.used_l.retain(|name, _| {
            let Some(cylinder) = scope.cylinders.get(*name).map(|cylinder| &cylinder.thing) else { return true };
            let filled = as_of(&cylinder.fills, on).and_then(|fill| fill.on.as_ref());
            let read = as_of(&cylinder.gauges, on).and_then(|read| read.on.as_ref());
            // What was read after the last dive has it in it.
            filled.into_iter().chain(read).all(|record| record.value <= last)
        });
        self.units_min.retain(|name, _| {
            let batteries = scope.units.get(*name).map_or(&[][..], |unit| &unit.thing.batteries);
            let charged = batteries
                .iter()
                .filter_map(|battery| as_of(&battery.charges, on)?.on.as_ref())
                .min_by_key(|on| on.value);
            charged.is_none_or(|charged| charged.value <= last)
        });
        self.beds.retain(|name, _| {
            let Some(bed) = scope.canisters.get(name).map(|canister| &canister.thing) else { return false };
            let packed = as_of(&bed.packed, on).and_then(|packed| packed.on.as_ref());
            let counted = as_of(&bed.used, on).and_then(|used| used.on.as_ref());
            // What was counted on the day of the dive or later has it in it.
            packed.is_none_or(|packed| packed.value <= last) && counted.is_none_or(|counted| counted.value < last)
        });
    }

    /// Of another plan what is not known is nothing.
    pub(super) fn forget_unknown(&mut self) {
        self.unknown_bodies.clear();
        self.unknown_cylinders.clear();
    }
}

/// What was dived instead of what was planned, as far as it is recorded.
struct Recorded {
    /// Its depth for its time, as a square.
    track: Option<Track>,
    /// Free litres used, by the number of the cylinder.
    used_l: Vec<f64>,
}

impl Recorded {
    fn of(record: &Record, simulated: &Simulated<'_>) -> Recorded {
        let planned = &simulated.ran.dive;
        let used_l = |(number, carried): (usize, &&crate::plan::Carried)| {
            let (_, from, to) = record.cylinders.iter().find(|(name, ..)| name.value == carried.name.value)?;
            let cylinder = planned.cylinders.get(number)?;
            Some(cylinder.free_l(from.as_ref()?.value)? - cylinder.free_l(to.as_ref()?.value)?)
        };
        let used_l = simulated.kit.iter().enumerate().map(|one| used_l(one).unwrap_or(0.0)).collect();
        Recorded { track: square(record, planned), used_l }
    }

    fn used_l(&self, number: usize) -> f64 {
        self.used_l.get(number).copied().unwrap_or(0.0)
    }
}

/// The dive that a record tells of: all its minutes at its depth, on the planned gas. The way up is part of them, so that
/// nothing is reckoned twice; the stops are as they would be.
fn square(record: &Record, planned: &Profile) -> Option<Track> {
    let (minutes, depth_m) = (record.minutes.as_ref()?.value, record.depth_m.as_ref()?.value);
    let down_min = depth_m / LimitName::DescentRate.def().usual_number();
    let work = planned.home.ascent.work;
    let legs = vec![
        Leg::new(depth_m, down_min, work, Why::Asked(0)),
        Leg::new(depth_m, (minutes - down_min).max(0.0), work, Why::Asked(1)),
        Leg::new(0.0, depth_m / planned.home.ascent.rate_m_per_min, work, Why::Asked(2)).with_stops(),
    ];
    Some(Profile { legs, ..planned.clone() }.run())
}

/// The worse of two bodies, compartment by compartment.
fn worse(one: Option<Body>, other: Option<Body>) -> Option<Body> {
    match (one, other) {
        (Some(one), Some(other)) => Some(Body { tissues: one.tissues.worse(&other.tissues), ..one }),
        (one, other) => one.or(other),
    }
}
