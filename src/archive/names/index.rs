//! What the files of an archive say to each other: who uses whom, where names are defined, which plans are of which day.
//!
//! Made once from a summary of every file; a change takes what the old text said out and puts what the new one says in.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;
use rayon::prelude::*;
use rpds::HashTrieMapSync;

use crate::archive::Archive;
use crate::archive::files::file::File;
use crate::archive::files::path::is_below;
use crate::archive::files::summary::Summary;
use crate::archive::files::summary::kind_of;
use crate::plan::lower::ThingKind;
use crate::source::{FileId, Place};
use crate::words::FileKind;

/// A diver's plans: whether dived, the day, the file.
type PlansWith = BTreeSet<(bool, Date, FileId)>;

/// Where a name is defined: in path order, and in a file in its own order.
type Definers = BTreeMap<(FileId, u32), (ThingKind, Place)>;

/// The files of an archive as far as they mean something to each other. Cheap to clone; what a change touches is copied.
#[derive(Debug, Clone, Default)]
pub(in crate::archive) struct Index {
    files: Arc<BTreeSet<FileId>>,
    users: HashTrieMapSync<FileId, Arc<BTreeSet<FileId>>>,
    definers: HashTrieMapSync<String, Arc<Definers>>,
    days: Arc<BTreeMap<Date, BTreeSet<FileId>>>,
    /// The plans with each diver.
    dives: HashTrieMapSync<String, Arc<PlansWith>>,
}

impl Index {
    /// Of every file of an archive; reads them all.
    pub(crate) fn of(archive: &Archive) -> Index {
        let files = archive.walk(&[]);
        // Read side by side; put together in order.
        files.par_iter().for_each(|file| {
            archive.file(file).summary();
        });
        let mut index = Index::default();
        files.iter().for_each(|file| index.add(&archive.file(file)));
        index
    }

    /// The same after a file has changed.
    pub(crate) fn change(&mut self, before: &File, after: &File) {
        let (id, old, new) = (&before.id, before.summary(), after.summary());
        if old.uses != new.uses {
            self.forget_uses(id, old);
            self.add_uses(id, new);
        }
        if old.defines != new.defines {
            self.forget_defined(id, old);
            self.add_defined(id, new);
        }
        if old.day != new.day {
            if let Some(plans) = old.day.and_then(|day| Arc::make_mut(&mut self.days).get_mut(&day)) {
                plans.remove(id);
            }
            self.add_day(id, new);
        }
        if (old.day, &old.divers, old.dived) != (new.day, &new.divers, new.dived) {
            self.forget_dives(id, old);
            self.add_dives(id, new);
        }
    }

    /// Whether it is one of the files that this knows.
    pub(crate) fn knows(&self, file: &FileId) -> bool {
        self.files.contains(file)
    }

    /// Takes a file in.
    pub(crate) fn add(&mut self, file: &File) {
        let (id, summary) = (&file.id, file.summary());
        Arc::make_mut(&mut self.files).insert(id.clone());
        self.add_uses(id, summary);
        self.add_defined(id, summary);
        self.add_day(id, summary);
        self.add_dives(id, summary);
    }

    fn add_uses(&mut self, id: &FileId, summary: &Summary) {
        for used in &summary.uses {
            match self.users.get_mut(used) {
                Some(users) => drop(Arc::make_mut(users).insert(id.clone())),
                None => self.users.insert_mut(used.clone(), Arc::new(BTreeSet::from([id.clone()]))),
            }
        }
    }

    fn forget_uses(&mut self, id: &FileId, summary: &Summary) {
        for used in &summary.uses {
            if let Some(users) = self.users.get_mut(used) {
                Arc::make_mut(users).remove(id);
            }
        }
    }

    fn add_defined(&mut self, id: &FileId, summary: &Summary) {
        for (number, (kind, name, place)) in (0..).zip(&summary.defines) {
            let (key, value) = ((id.clone(), number), (*kind, place.clone()));
            match self.definers.get_mut(name) {
                Some(definers) => drop(Arc::make_mut(definers).insert(key, value)),
                None => self.definers.insert_mut(name.clone(), Arc::new(BTreeMap::from([(key, value)]))),
            }
        }
    }

    fn forget_defined(&mut self, id: &FileId, summary: &Summary) {
        for (number, (_, name, _)) in (0..).zip(&summary.defines) {
            if let Some(definers) = self.definers.get_mut(name) {
                Arc::make_mut(definers).remove(&(id.clone(), number));
            }
        }
    }

    fn add_day(&mut self, id: &FileId, summary: &Summary) {
        if let Some(day) = summary.day {
            Arc::make_mut(&mut self.days).entry(day).or_default().insert(id.clone());
        }
    }

    fn add_dives(&mut self, id: &FileId, summary: &Summary) {
        let Some(day) = summary.day else { return };
        for diver in &summary.divers {
            let dive = (summary.dived, day, id.clone());
            match self.dives.get_mut(diver) {
                Some(dives) => drop(Arc::make_mut(dives).insert(dive)),
                None => self.dives.insert_mut(diver.clone(), Arc::new(BTreeSet::from([dive]))),
            }
        }
    }

    fn forget_dives(&mut self, id: &FileId, summary: &Summary) {
        let Some(day) = summary.day else { return };
        for diver in &summary.divers {
            if let Some(dives) = self.dives.get_mut(diver) {
                Arc::make_mut(dives).remove(&(summary.dived, day, id.clone()));
            }
        }
    }

    /// The plans of some days with a diver, those that were dived or those that were not, in order of days and paths.
    pub(crate) fn plans_with(
        &self,
        diver: &str,
        dived: bool,
        days: std::ops::RangeInclusive<Date>,
    ) -> impl DoubleEndedIterator<Item = (Date, &FileId)> {
        let first = (dived, *days.start(), FileId::new(""));
        let behind = days.end().tomorrow().map(|day| (dived, day, FileId::new("")));
        let dives = self.dives.get(diver).into_iter().flat_map(move |dives| match &behind {
            Ok(behind) => dives.range(&first..behind),
            Err(_) => dives.range(&first..),
        });
        dives.filter(move |(of, ..)| *of == dived).map(|(_, day, file)| (*day, file))
    }

    /// Where kit files define a name, in path order.
    pub(crate) fn definers(&self, name: &str) -> impl Iterator<Item = (ThingKind, &Place)> {
        self.definers.get(name).into_iter().flat_map(|definers| definers.values()).map(|(kind, place)| (*kind, place))
    }

    /// The files with a plan of some days, in order of days and paths.
    pub(crate) fn plans_of(&self, days: std::ops::RangeInclusive<Date>) -> impl Iterator<Item = &FileId> {
        self.days.range(days).flat_map(|(_, files)| files)
    }

    /// Files whose answers depend on this one, itself included.
    pub(crate) fn dependants(&self, file: &FileId) -> BTreeSet<FileId> {
        let mut found = BTreeSet::from([file.clone()]);
        let mut ahead = vec![file.clone()];
        while let Some(used) = ahead.pop() {
            let mut meet = |user: &FileId| {
                if found.insert(user.clone()) {
                    ahead.push(user.clone());
                }
            };
            self.users.get(&used).into_iter().flat_map(|users| users.iter()).for_each(&mut meet);
            // A root file holds for all that lies below it, and would if it were new.
            if kind_of(&used) == FileKind::House {
                let folder = crate::archive::files::path::folder_of(used.as_str());
                self.files.iter().filter(|file| is_below(file.as_str(), folder)).for_each(meet);
            }
        }
        found
    }
}
