//! Which plans' dives lie before a plan's and leave something for it.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Span;
use jiff::civil::{Date, Time};

use super::Archive;
use crate::plan::{Plan, Status};
use crate::rules::inputs::Earlier;
use crate::source::FileId;
use crate::words::FileKind;

/// What a dive left longer ago than so many days has gone from the body; gas and absorbent have records of their own.
const DAYS: i64 = 2;

impl Archive {
    /// The plans whose dives lie before those of a file's plan, in the order they are dived: of that day, by their times, or
    /// of the two days before; ready or dived; with a diver, a cylinder or a unit of its own. The first call reads all of
    /// the archive's plans.
    pub fn earlier(&self, file: &FileId) -> Vec<Earlier> {
        let Some(plan) = self.plan(file) else { return Vec::new() };
        let Some(on) = plan.on.as_ref().map(|on| on.value).filter(|_| counts(&plan) || plan.status == Status::Draft)
        else {
            return Vec::new();
        };
        let wanted = names(&plan);
        let mut found: Vec<(Date, Option<Time>, FileId, Earlier)> = Vec::new();
        let first = on.checked_sub(Span::new().days(DAYS)).unwrap_or(on);
        for other in self.days().range(first..=on).flat_map(|(_, files)| files).filter(|other| *other != file) {
            let Some(before) = self.plan(other).filter(|before| counts(before)) else { continue };
            let Some(day) = before.on.as_ref().map(|on| on.value) else { continue };
            let at = begins(&before);
            // Plans of one day that say no times may lie either way.
            let is_before = day < on || at.zip(begins(&plan)).is_some_and(|(at, own)| at < own);
            if is_before && names(&before).iter().any(|name| wanted.contains(name)) {
                found.push((day, at, other.clone(), Earlier { scope: self.scope(other), plan: before }));
            }
        }
        found.sort_by(|a, b| (a.0, a.1, &a.2).cmp(&(b.0, b.1, &b.2)));
        found.into_iter().map(|(.., earlier)| earlier).collect()
    }

    /// The files whose plans may begin with what this one's leaves.
    pub(super) fn later(&self, file: &FileId) -> Vec<FileId> {
        let Some(plan) = self.plan(file) else { return Vec::new() };
        let Some(on) = plan.on.as_ref().map(|on| on.value) else { return Vec::new() };
        let wanted = names(&plan);
        let last = on.checked_add(Span::new().days(DAYS)).unwrap_or(on);
        let near = self.days().range(on..=last).flat_map(|(_, files)| files).filter(|other| *other != file);
        let shares = |other: &&FileId| self.plan(other).is_some_and(|plan| !names(&plan).is_disjoint(&wanted));
        near.filter(shares).cloned().collect()
    }

    /// The files with a plan, by its day.
    fn days(&self) -> &BTreeMap<Date, Vec<FileId>> {
        self.inner.days.get_or_init(|| {
            let mut days: BTreeMap<Date, Vec<FileId>> = BTreeMap::new();
            for file in self.walk(&[]).into_iter().filter(|file| self.kind(file) == FileKind::Plan) {
                if let Some(day) = self.file(&file).day() {
                    days.entry(day).or_default().push(file);
                }
            }
            days
        })
    }
}

/// Whether a plan's dives leave anything: those that are to be dived for certain, and those that were.
fn counts(plan: &Plan) -> bool {
    matches!(plan.status, Status::Ready | Status::Dived)
}

fn begins(plan: &Plan) -> Option<Time> {
    plan.dives.first()?.at.as_ref().map(|at| at.value)
}

/// The divers, cylinders and units of a plan's dives.
fn names(plan: &Plan) -> BTreeSet<(&'static str, String)> {
    let divers = plan.dives.iter().flat_map(|dive| &dive.divers);
    divers
        .flat_map(|member| {
            let diver = ("diver", member.name.value.clone());
            let unit = member.unit_name.iter().map(|unit| ("unit", unit.value.clone()));
            let cylinders = member.cylinders.iter().map(|carried| ("cylinder", carried.name.value.clone()));
            std::iter::once(diver).chain(unit).chain(cylinders).collect::<Vec<_>>()
        })
        .collect()
}
