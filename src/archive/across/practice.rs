//! When the divers of a plan last dived, by the plans of the archive that were.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::archive::Archive;
use crate::forecast::dives;
use crate::plan::lower::ThingKind;
use crate::plan::{ApparatusKind, Plan, Status};
use crate::rules::LastDive;
use crate::source::FileId;

/// Whose last dive was asked, and the days whose dived plans tell of it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(in crate::archive) struct Asked {
    pub diver: String,
    pub first: Date,
    pub last: Date,
}

impl Archive {
    /// The last dive of each diver of a file's plan with apparatus of the kind that the plan has for that diver, as far as
    /// the archive tells. Nothing for a plan that is dived or a template.
    pub(in crate::archive) fn practice(&self, file: &FileId) -> Vec<LastDive> {
        let resolved = self.resolved(file);
        let Some(plan) = resolved.plan.as_deref() else { return Vec::new() };
        whose(plan).iter().filter_map(|dive| self.last_dive(file, dive)).collect()
    }

    /// What has to be asked for that: of each diver the days from the last dive on, or all days where there was none.
    pub(in crate::archive) fn practice_asked(&self, file: &FileId) -> Vec<Asked> {
        let resolved = self.resolved(file);
        let Some(plan) = resolved.plan.as_deref() else { return Vec::new() };
        let asked = whose(plan).into_iter().map(|dive| {
            let first = self.last_dive(file, &dive).map_or(Date::MIN, |last| last.on);
            Asked { diver: dive.diver.to_owned(), first, last: dive.on }
        });
        asked.collect()
    }

    /// The files that tells it from.
    pub(in crate::archive) fn practice_files(&self, file: &FileId) -> Vec<FileId> {
        self.practice(file).into_iter().map(|last| last.place.file).collect()
    }

    fn last_dive(&self, own: &FileId, asked: &ToDive<'_>) -> Option<LastDive> {
        let &ToDive { diver, kind, model, on } = asked;
        let name = (ThingKind::Diver, diver.to_owned());
        let own = self.led_to(own);
        let plans = self.index().plans_with(&name, true, Date::MIN..=on).rev().filter(|(_, file)| *file != own);
        plans.into_iter().find_map(|(day, file)| {
            let resolved = self.resolved(file);
            let plan = resolved.plan.as_deref().filter(|plan| plan.status == Status::Dived)?;
            let dived = dives::of(plan);
            dived.iter().find(|dive| dive.member.name.value == diver && dive.is_practised_by(kind, model))?;
            Some(LastDive {
                diver: diver.to_owned(),
                kind,
                model: model.map(str::to_owned),
                on: day,
                place: plan.header.clone(),
            })
        })
    }

    /// The plans that are still to be dived and may rest on when the divers of a dived plan dived it.
    pub(in crate::archive) fn practised_by(&self, file: &FileId) -> BTreeSet<FileId> {
        let own = self.file(file);
        let summary = own.summary();
        let Some(day) = summary.day.filter(|_| summary.dived) else { return BTreeSet::new() };
        let index = self.index();
        let names = index.names(file);
        let divers = names.iter().filter(|(kind, _)| *kind == ThingKind::Diver);
        let plans = divers.flat_map(|diver| index.plans_with(diver, false, day..=Date::MAX));
        plans.map(|(_, file)| file.clone()).collect()
    }
}

/// A dive that is still to be dived.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct ToDive<'a> {
    diver: &'a str,
    kind: ApparatusKind,
    model: Option<&'a str>,
    on: Date,
}

/// Each diver of a plan that is still to be dived, with the apparatus and the day.
fn whose(plan: &Plan) -> BTreeSet<ToDive<'_>> {
    if !matches!(plan.status, Status::Draft | Status::Ready) {
        return BTreeSet::new();
    }
    dives::of(plan)
        .iter()
        .filter_map(|dive| {
            let diver = dive.member.name.value.as_str();
            Some(ToDive { diver, kind: dive.kind()?, model: dive.model(), on: dive.day()? })
        })
        .collect()
}
