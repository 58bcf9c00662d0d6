//! Which plans' dives lie before a plan's and leave something for it, and which stand beside it on its day.

use std::collections::BTreeSet;

use jiff::Span;
use jiff::civil::{Date, Time};

use crate::archive::Archive;
use crate::forecast::Neighbour;
use crate::plan::{Plan, Status};
use crate::source::FileId;

/// What a dive left longer ago than so many days has gone from the tissues and the clock; gas and absorbent have records
/// of their own.
const DAYS: i64 = 2;
/// The lungs add up the oxygen of all days in a row, of so many at most: as far as the table of them goes.
const TRIP_DAYS: i64 = 30;

const DIVER: &str = "diver";

/// A plan's part in a day: what tells whether it leaves anything for another.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::archive) struct Part {
    on: Date,
    /// When its first dive begins.
    begins: Option<Time>,
    status: Status,
    /// The divers, cylinders and units of its dives.
    names: BTreeSet<(&'static str, String)>,
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
            let diver = (DIVER, member.name.value.clone());
            let unit = member.unit_name.iter().map(|unit| ("unit", unit.value.clone()));
            let cylinders = member.cylinders.iter().map(|carried| ("cylinder", carried.name.value.clone()));
            std::iter::once(diver).chain(unit).chain(cylinders).collect::<Vec<_>>()
        });
        Some(Part {
            on: plan.on.as_ref()?.value,
            begins: plan.dives.first().and_then(|dive| dive.at.as_ref()).map(|at| at.value),
            status: plan.status,
            names: names.collect(),
        })
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

    /// Whether a diver of another's dives in it.
    fn has_diver_of(&self, other: &Part) -> bool {
        self.counts() && self.names.intersection(&other.names).any(|(kind, _)| *kind == DIVER)
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
        self.index().plans_of(day..=day).next().is_some()
    }

    /// The files of those plans.
    pub(in crate::archive) fn earlier_files(&self, file: &FileId) -> Vec<FileId> {
        let resolved = self.resolved(file);
        let Some(own) = resolved.part().filter(|own| own.counts() || own.status == Status::Draft) else {
            return Vec::new();
        };
        let mut found: Vec<(Date, Option<Time>, FileId)> = Vec::new();
        let has_diver = |file: &FileId| self.resolved(file).part().is_some_and(|part| part.has_diver_of(own));
        let dived = |day: Date| self.index().plans_of(day..=day).any(has_diver);
        let first = end_of_trip(own.on, -1, dived).min(away(own.on, -DAYS));
        for other in self.index().plans_of(first..=own.on).filter(|other| *other != file) {
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
        let of_day = self.index().plans_of(own.on..=own.on).filter(|other| *other != file);
        let mut found: Vec<FileId> = of_day.filter(is_beside).cloned().collect();
        found.sort();
        found
    }

    /// Another file's plan, with what its names mean.
    fn other(&self, file: &FileId) -> Option<Neighbour> {
        let resolved = self.resolved(file);
        Some(Neighbour { scope: resolved.scope.clone(), plan: resolved.plan.clone()? })
    }

    /// The files whose plans may begin with what this one's leaves, or that stand beside it on its day.
    pub(in crate::archive) fn later(&self, file: &FileId) -> Vec<FileId> {
        let resolved = self.resolved(file);
        let Some(own) = resolved.part() else { return Vec::new() };
        let last = end_of_trip(own.on, 1, |day| self.has_plans(day)).max(away(own.on, DAYS));
        let near = self.index().plans_of(own.on..=last).filter(|other| *other != file);
        let shares =
            |other: &&FileId| self.resolved(other).part().is_some_and(|part| !part.names.is_disjoint(&own.names));
        near.filter(shares).cloned().collect()
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
