//! What the files of an archive say to each other: who uses whom, where names are defined, which plans are of which day.
//!
//! Made once from a summary of every file; a change takes what the old text said out and puts what the new one says in.

use std::collections::BTreeSet;

use jiff::civil::Date;
use rayon::prelude::*;
use rpds::{HashTrieMapSync, RedBlackTreeMapSync, RedBlackTreeSetSync};

use super::Archive;
use super::file::{File, kind_of};
use super::path::{is_below, resolve};
use crate::plan::lower::{FileWord, ThingKind};
use crate::source::{FileId, Place};
use crate::words::FileKind;

/// What one file says that others may care for.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Summary {
    /// What a kit file defines.
    pub defines: Vec<(ThingKind, String, Place)>,
    /// The files that it uses or starts from, as far as paths tell.
    pub uses: BTreeSet<FileId>,
    /// The day of its plan.
    pub day: Option<Date>,
}

impl Summary {
    /// What a file says, read but not resolved.
    pub fn of(word: &FileWord, day: Option<Date>) -> Summary {
        let id = &word.source.file;
        let kind = kind_of(id);
        let target = |said: &crate::source::Placed<String>| resolve(id, &said.value, "").ok();
        let defines = word.definitions().filter(|_| kind == FileKind::Kit);
        Summary {
            defines: defines.map(|(kind, name, _)| (kind, name.value.clone(), name.place.clone())).collect(),
            uses: word.uses.iter().chain(&word.from).filter_map(target).collect(),
            day: day.filter(|_| kind == FileKind::Plan),
        }
    }
}

/// Where a name is defined: in path order, and in a file in its own order.
type Definers = RedBlackTreeMapSync<(FileId, u32), (ThingKind, Place)>;

/// The files of an archive as far as they mean something to each other. Cheap to clone.
#[derive(Debug, Clone)]
pub(super) struct Index {
    files: RedBlackTreeSetSync<FileId>,
    users: HashTrieMapSync<FileId, RedBlackTreeSetSync<FileId>>,
    definers: HashTrieMapSync<String, Definers>,
    days: RedBlackTreeMapSync<Date, RedBlackTreeSetSync<FileId>>,
}

impl Index {
    /// Of every file of an archive; reads them all.
    pub fn of(archive: &Archive) -> Index {
        let files = archive.walk(&[]);
        // Read side by side; put together in order.
        files.par_iter().for_each(|file| {
            archive.file(file).summary();
        });
        let mut index = Index {
            files: RedBlackTreeSetSync::new_sync(),
            users: HashTrieMapSync::new_sync(),
            definers: HashTrieMapSync::new_sync(),
            days: RedBlackTreeMapSync::new_sync(),
        };
        files.iter().for_each(|file| index.add(&archive.file(file)));
        index
    }

    /// The same after a file has changed.
    pub fn change(&mut self, before: &File, after: &File) {
        if before.summary() != after.summary() {
            self.remove(before);
            self.add(after);
        }
    }

    /// Whether it is one of the files that this knows.
    pub fn knows(&self, file: &FileId) -> bool {
        self.files.contains(file)
    }

    /// Takes a file in.
    pub fn add(&mut self, file: &File) {
        let (id, summary) = (&file.id, file.summary());
        self.files.insert_mut(id.clone());
        for used in &summary.uses {
            let mut users = self.users.get(used).cloned().unwrap_or_else(RedBlackTreeSetSync::new_sync);
            users.insert_mut(id.clone());
            self.users.insert_mut(used.clone(), users);
        }
        for (number, (kind, name, place)) in (0_u32..).zip(&summary.defines) {
            let mut definers = self.definers.get(name).cloned().unwrap_or_else(RedBlackTreeMapSync::new_sync);
            definers.insert_mut((id.clone(), number), (*kind, place.clone()));
            self.definers.insert_mut(name.clone(), definers);
        }
        if let Some(day) = summary.day {
            let mut plans = self.days.get(&day).cloned().unwrap_or_else(RedBlackTreeSetSync::new_sync);
            plans.insert_mut(id.clone());
            self.days.insert_mut(day, plans);
        }
    }

    fn remove(&mut self, file: &File) {
        let (id, summary) = (&file.id, file.summary());
        self.files.remove_mut(id);
        for used in &summary.uses {
            if let Some(mut users) = self.users.get(used).cloned() {
                users.remove_mut(id);
                self.users.insert_mut(used.clone(), users);
            }
        }
        for (number, (_, name, _)) in (0_u32..).zip(&summary.defines) {
            if let Some(mut definers) = self.definers.get(name).cloned() {
                definers.remove_mut(&(id.clone(), number));
                self.definers.insert_mut(name.clone(), definers);
            }
        }
        if let Some(day) = summary.day
            && let Some(mut plans) = self.days.get(&day).cloned()
        {
            plans.remove_mut(id);
            self.days.insert_mut(day, plans);
        }
    }

    /// Where kit files define a name, in path order.
    pub fn definers(&self, name: &str) -> impl Iterator<Item = (ThingKind, &Place)> {
        self.definers.get(name).into_iter().flat_map(Definers::values).map(|(kind, place)| (*kind, place))
    }

    /// The files with a plan of some days, in order of days and paths.
    pub fn plans_of(&self, days: std::ops::RangeInclusive<Date>) -> impl Iterator<Item = &FileId> {
        self.days.range(days).flat_map(|(_, files)| files)
    }

    /// Files whose answers depend on this one, itself included.
    pub fn dependants(&self, file: &FileId) -> BTreeSet<FileId> {
        let mut found = BTreeSet::from([file.clone()]);
        let mut ahead = vec![file.clone()];
        while let Some(used) = ahead.pop() {
            let mut meet = |user: &FileId| {
                if found.insert(user.clone()) {
                    ahead.push(user.clone());
                }
            };
            self.users.get(&used).into_iter().flatten().for_each(&mut meet);
            // A root file holds for all that lies below it, and would if it were new.
            if kind_of(&used) == FileKind::House {
                let folder = super::path::folder_of(used.as_str());
                self.files.iter().filter(|file| is_below(file.as_str(), folder)).for_each(meet);
            }
        }
        found
    }
}
