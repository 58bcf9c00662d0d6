//! Which plans' dives lie before a plan's and leave something for it, and which stand beside it on its day.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use jiff::Span;
use jiff::civil::{Date, Time};

use crate::archive::Archive;
use crate::archive::files::summary::Taken;
use crate::forecast::Neighbour;
use crate::plan::lower::ThingKind;
use crate::plan::{Plan, Status};
use crate::source::FileId;
use crate::words::OPEN;

/// What a dive left longer ago than so many days has gone from the tissues and the clock; gas and absorbent have records
/// of their own.
const DAYS: i64 = 2;
/// The lungs add up the oxygen of all days in a row, of so many at most: as far as the table of them goes.
const TRIP_DAYS: i64 = 30;

/// A plan's part in a day: what tells whether it leaves anything for another.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::archive) struct Part {
    on: Date,
    /// When its first dive begins.
    begins: Option<Time>,
    status: Status,
    /// The divers, cylinders and units of its dives.
    names: BTreeSet<Taken>,
}

/// A day so many days away from another, back or on; that other where the calendar ends.
fn away(on: Date, days: i64) -> Date {
    on.checked_add(Span::new().days(days)).unwrap_or(on)
}

/// The last of the days in a row from one on, that one left out, that are all of the trip; no more than a trip has.
fn end_of_trip(on: Date, step: i64, is_of_trip: impl Fn(Date) -> bool) -> Date {
    let days = (1..TRIP_DAYS).map(|number| away(on, number * step));
    days.take_while(|day| is_of_trip(*day)).last().unwrap_or(on)
}

impl Part {
    /// The plan's day.
    pub(crate) fn on(&self) -> Date {
        self.on
    }

    /// Of a plan; `None` where it is on no day.
    pub(crate) fn of(plan: &Plan) -> Option<Part> {
        let divers = plan.dives.iter().flat_map(|dive| &dive.divers);
        let names = divers.flat_map(|member| {
            let diver = (ThingKind::Diver, &member.name.value);
            let unit = member.unit_name.iter().map(|unit| (ThingKind::Unit, &unit.value));
            let cylinders = member.cylinders.iter().map(|carried| (ThingKind::Cylinder, &carried.name.value));
            std::iter::once(diver).chain(unit).chain(cylinders)
        });
        // A place that is still open is nobody's, and what has no name is no one thing.
        let names = names.filter(|(_, name)| *name != OPEN && !name.is_empty());
        Some(Part {
            on: plan.on.as_ref()?.value,
            begins: plan.dives.first().and_then(|dive| dive.at.as_ref()).map(|at| at.value),
            status: plan.status,
            names: names.map(|(kind, name)| (kind, name.clone())).collect(),
        })
    }

    /// The divers of its dives, as they are named.
    fn divers(&self) -> impl Iterator<Item = &Taken> {
        self.names.iter().filter(|(kind, _)| *kind == ThingKind::Diver)
    }

    /// Whether its dives leave anything: those that are to be dived for certain, and those that were.
    fn counts(&self) -> bool {
        matches!(self.status, Status::Ready | Status::Dived)
    }

    /// Whether its dives lie before another's and leave something for them. Plans of one day that say no times may lie
    /// either way.
    fn leaves_for(&self, other: &Part) -> bool {
        let is_before = self.on < other.on
            || (self.on == other.on && self.begins.zip(other.begins).is_some_and(|(begins, own)| begins < own));
        self.counts() && is_before && !self.names.is_disjoint(&other.names)
    }

    /// Whether a diver of some name dives in it.
    fn has(&self, diver: &Taken) -> bool {
        self.counts() && self.names.contains(diver)
    }
}

impl Archive {
    /// The plans whose dives lie before those of a file's plan, in the order they are dived: of that day, by their times, of
    /// the two days before, or of further days before them that were dived in a row by a diver of it; ready or dived; with
    /// a diver, a cylinder or a unit of its own. The first call reads all of the archive's plans.
    #[doc(hidden)]
    pub fn earlier(&self, file: &FileId) -> Vec<Neighbour> {
        self.earlier_files(file).iter().filter_map(|id| self.other(id)).collect()
    }

    /// The first day whose dives may leave something for a day.
    pub(in crate::archive) fn first_that_counts(&self, on: Date) -> Date {
        end_of_trip(on, -1, |day| self.has_plans(day)).min(away(on, -DAYS))
    }

    fn has_plans(&self, day: Date) -> bool {
        self.index().plans_of(day).next().is_some()
    }

    /// The files of those plans.
    pub(in crate::archive) fn earlier_files(&self, file: &FileId) -> Vec<FileId> {
        let resolved = self.resolved(file);
        let Some(own) = resolved.part().filter(|own| own.counts() || own.status == Status::Draft) else {
            return Vec::new();
        };
        let mut found: Vec<(Date, Option<Time>, FileId)> = Vec::new();
        let dived_by = |diver: &Taken, day: Date| {
            let mut plans = self.plans_with(diver, day..=day);
            plans.any(|(_, file)| self.resolved(file).part().is_some_and(|part| part.has(diver)))
        };
        let dived = |day: Date| own.divers().any(|diver| dived_by(diver, day));
        let first = end_of_trip(own.on, -1, dived).min(away(own.on, -DAYS));
        for other in self.sharing(file, own, first..=own.on) {
            let resolved = self.resolved(other);
            if let Some(before) = resolved.part().filter(|before| before.leaves_for(own)) {
                found.push((before.on, before.begins, other.clone()));
            }
        }
        found.sort();
        found.into_iter().map(|(.., file)| file).collect()
    }

    /// The other plans of a file's day that are ready, before or after it as may be, with a diver, a cylinder or a unit of
    /// its own, in path order; none for a plan that is neither ready nor a draft.
    pub(crate) fn beside(&self, file: &FileId) -> Vec<Neighbour> {
        self.beside_files(file).iter().filter_map(|id| self.other(id)).collect()
    }

    /// The files of those plans.
    fn beside_files(&self, file: &FileId) -> Vec<FileId> {
        let resolved = self.resolved(file);
        let Some(own) = resolved.part().filter(|own| matches!(own.status, Status::Ready | Status::Draft)) else {
            return Vec::new();
        };
        let is_beside = |other: &&FileId| {
            let resolved = self.resolved(other);
            resolved.part().is_some_and(|part| part.status == Status::Ready && !part.names.is_disjoint(&own.names))
        };
        self.sharing(file, own, own.on..=own.on).into_iter().filter(is_beside).cloned().collect()
    }

    /// The plans of some days that take a thing, in no order.
    fn plans_with(&self, thing: &Taken, days: RangeInclusive<Date>) -> impl Iterator<Item = (Date, &FileId)> {
        let index = self.index();
        [false, true].into_iter().flat_map(move |dived| index.plans_with(thing, dived, days.clone()))
    }

    /// The files, in path order and a file itself left out, that by their own words and their templates' have a plan of some
    /// days with a diver, a cylinder or a unit of the file's plan. One that has none in truth may be among them.
    fn sharing(&self, file: &FileId, own: &Part, days: RangeInclusive<Date>) -> BTreeSet<&FileId> {
        let plans = own.names.iter().flat_map(|name| self.plans_with(name, days.clone()));
        // What is reached through a link is the same plan.
        let file = self.led_to(file);
        plans.map(|(_, other)| other).filter(|other| *other != file).collect()
    }

    /// Another file's plan, with what its names mean.
    fn other(&self, file: &FileId) -> Option<Neighbour> {
        let resolved = self.resolved(file);
        let (scope, times) = (resolved.scope.clone(), resolved.times.clone());
        Some(Neighbour { plan: resolved.plan.clone()?, scope, times })
    }

    /// The files whose plans may begin with what this one's leaves, or that stand beside it on its day.
    pub(in crate::archive) fn later(&self, file: &FileId) -> Vec<FileId> {
        let resolved = self.resolved(file);
        let Some(own) = resolved.part() else { return Vec::new() };
        let last = end_of_trip(own.on, 1, |day| self.has_plans(day)).max(away(own.on, DAYS));
        let shares =
            |other: &&FileId| self.resolved(other).part().is_some_and(|part| !part.names.is_disjoint(&own.names));
        self.sharing(file, own, own.on..=last).into_iter().filter(shares).cloned().collect()
    }

    /// The files that a file's findings rest on, missing ones included: itself, what it sees and starts from, and what the
    /// plans see whose dives lie before its own or stand beside them, or that its divers dived last; and what was accepted.
    pub(crate) fn rests_on(&self, file: &FileId) -> BTreeSet<FileId> {
        let (earlier, beside) = (self.earlier_files(file), self.beside_files(file));
        let practised = self.practice_files(file);
        let resolved_files =
            earlier.iter().chain(&beside).chain(&practised).chain([file]).map(|file| self.resolved(file));
        let made_from =
            resolved_files.flat_map(|resolved| resolved.made_from().map(|file| file.id.clone()).collect::<Vec<_>>());
        made_from.chain([Archive::accepted_file()]).collect()
    }
}
