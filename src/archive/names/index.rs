//! What the files of an archive say to each other: who uses whom, where names are defined, which plans are of which day.
//!
//! Made once from a summary of every file; a change takes what the old text said out and puts what the new one says in.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::hash::Hash;
use std::ops::RangeInclusive;
use std::sync::Arc;

use jiff::civil::Date;
use rayon::prelude::*;
use rpds::RedBlackTreeSetSync;

use crate::archive::Archive;
use crate::archive::Map;
use crate::archive::files::file::File;
use crate::archive::files::path::is_below;
use crate::archive::files::summary::kind_of;
use crate::archive::files::summary::{Summary, Taken};
use crate::plan::lower::ThingKind;
use crate::source::{FileId, Place};
use crate::words::FileKind;

/// Files, in path order.
type Files = RedBlackTreeSetSync<FileId>;

/// The plans that take a thing: whether dived, the day, the file.
type PlansWith = RedBlackTreeSetSync<(bool, Date, FileId)>;

/// Where a name is defined: in path order, and in a file in its own order.
type Definers = BTreeMap<(FileId, u32), (ThingKind, Place)>;

/// Where a plan was put: its day, and what its dives take, those of the templates it starts from among them.
#[derive(Debug, Clone, PartialEq)]
struct Entered {
    day: Option<Date>,
    dived: bool,
    names: Arc<BTreeSet<Taken>>,
}

/// The files of an archive as far as they mean something to each other. Cheap to clone; what a change touches is copied.
#[derive(Debug, Clone, Default)]
pub(in crate::archive) struct Index {
    files: Files,
    /// Files that are known by another name: what they define and whose plans they hold is that one's.
    links: Arc<BTreeSet<FileId>>,
    users: Map<FileId, Files>,
    definers: Map<String, Arc<Definers>>,
    days: Map<Date, Files>,
    /// The plans with each diver, unit and cylinder.
    takers: Map<Taken, PlansWith>,
    /// What plans say of themselves and their own dives.
    own_parts: Map<FileId, Arc<Summary>>,
    entered: Map<FileId, Entered>,
    /// The plans that start from each template.
    starters: Map<FileId, Files>,
}

impl Index {
    /// Of every file of an archive; reads them all.
    pub(crate) fn of(archive: &Archive) -> Index {
        let files = archive.walk(&[]);
        // Read side by side; put together in order.
        files.par_iter().for_each(|file| {
            archive.file(file).summary();
        });
        let mut index =
            Index { links: Arc::new(archive.on_disk().links.keys().cloned().collect()), ..Index::default() };
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
        if self.links.contains(id) {
            return;
        }
        if old.defines != new.defines {
            self.forget_defined(id, old);
            self.add_defined(id, new);
        }
        self.add_part(id, new);
    }

    /// Whether it is one of the files that this knows.
    pub(crate) fn knows(&self, file: &FileId) -> bool {
        self.files.contains(file)
    }

    /// Takes a file in.
    pub(crate) fn add(&mut self, file: &File) {
        let (id, summary) = (&file.id, file.summary());
        self.files.insert_mut(id.clone());
        self.add_uses(id, summary);
        if !self.links.contains(id) {
            self.add_defined(id, summary);
            self.add_part(id, summary);
        }
    }

    fn add_uses(&mut self, id: &FileId, summary: &Summary) {
        for used in &summary.uses {
            insert(&mut self.users, used, id.clone());
        }
    }

    fn forget_uses(&mut self, id: &FileId, summary: &Summary) {
        for used in &summary.uses {
            remove(&mut self.users, used, id);
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

    /// Takes in what a plan says of itself, and enters it and all that start from it anew.
    fn add_part(&mut self, id: &FileId, summary: &Arc<Summary>) {
        if kind_of(id) != FileKind::Plan {
            return;
        }
        let Summary { from, day, dived, names, .. } = &**summary;
        let before = self.own_parts.get(id);
        let is_same = |own: &Arc<Summary>| (&own.from, &own.day, own.dived, &own.names) == (from, day, *dived, names);
        if before.is_some_and(is_same) {
            return;
        }
        if let Some(template) = before.and_then(|own| own.from.clone()) {
            remove(&mut self.starters, &template, id);
        }
        if let Some(template) = from {
            insert(&mut self.starters, template, id.clone());
        }
        self.own_parts.insert_mut(id.clone(), summary.clone());
        let mut ahead = vec![id.clone()];
        let mut met: HashSet<FileId> = HashSet::from([id.clone()]);
        while let Some(id) = ahead.pop() {
            // Whoever starts from a plan that takes what it took takes what it took as well.
            if self.enter(&id) {
                let starters = self.starters.get(&id).into_iter().flat_map(Files::iter);
                ahead.extend(starters.filter(|starter| met.insert((*starter).clone())).cloned());
            }
        }
    }

    /// Enters a plan under its day and all that its dives take; whether what they take is not what it was.
    fn enter(&mut self, id: &FileId) -> bool {
        let Some(own) = self.own_parts.get(id) else { return false };
        let after = Entered { day: own.day, dived: own.dived, names: self.names_of(own) };
        let before = self.entered.get(id).cloned();
        if before.as_ref() == Some(&after) {
            return false;
        }
        let differs = before.as_ref().is_none_or(|before| before.names != after.names);
        if let Some(Entered { day: Some(day), dived, names }) = before {
            remove(&mut self.days, &day, id);
            for name in &*names {
                remove(&mut self.takers, name, &(dived, day, id.clone()));
            }
        }
        if let Some(day) = after.day {
            insert(&mut self.days, &day, id.clone());
            for name in &*after.names {
                insert(&mut self.takers, name, (after.dived, day, id.clone()));
            }
        }
        self.entered.insert_mut(id.clone(), after);
        differs
    }

    /// What a plan's dives take, by its own word or a template's.
    fn names_of(&self, own: &Summary) -> Arc<BTreeSet<Taken>> {
        let mut names = own.names.clone();
        let mut met: HashSet<&FileId> = HashSet::new();
        let mut template = own.from.as_ref();
        // A chain of templates may bite its tail.
        while let Some(id) = template.filter(|id| met.insert(id)) {
            let Some(part) = self.own_parts.get(id) else { break };
            if !part.names.is_subset(&names) {
                Arc::make_mut(&mut names).extend(part.names.iter().cloned());
            }
            template = part.from.as_ref();
        }
        names
    }

    /// The divers of a plan's dives and what they take, those of the templates it starts from among them.
    pub(crate) fn names(&self, file: &FileId) -> Arc<BTreeSet<Taken>> {
        self.entered.get(file).map(|entered| entered.names.clone()).unwrap_or_default()
    }

    /// The plans of some days that take a thing, those that were dived or those that were not, in order of days and paths.
    pub(crate) fn plans_with(
        &self,
        thing: &Taken,
        dived: bool,
        days: RangeInclusive<Date>,
    ) -> impl DoubleEndedIterator<Item = (Date, &FileId)> {
        let first = (dived, *days.start(), FileId::new(""));
        let behind = match days.end().tomorrow() {
            Ok(behind) => (dived, behind, FileId::new("")),
            // Behind the last day of the calendar is nothing but its own plans.
            Err(_) => (dived, Date::MAX, FileId::new("\u{10ffff}")),
        };
        let plans =
            self.takers.get(thing).into_iter().flat_map(move |plans| plans.range(first.clone()..behind.clone()));
        plans.map(|(_, day, file)| (*day, file))
    }

    /// Where kit files define a name, in path order.
    pub(crate) fn definers(&self, name: &str) -> impl Iterator<Item = (ThingKind, &Place)> {
        self.definers.get(name).into_iter().flat_map(|definers| definers.values()).map(|(kind, place)| (*kind, place))
    }

    /// The files with a plan of a day, in path order.
    pub(crate) fn plans_of(&self, day: Date) -> impl Iterator<Item = &FileId> {
        self.days.get(&day).into_iter().flat_map(Files::iter)
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
            self.users.get(&used).into_iter().flat_map(Files::iter).for_each(&mut meet);
            // A root file holds for all that lies below it, and would if it were new.
            if kind_of(&used) == FileKind::House {
                let folder = crate::archive::files::path::folder_of(used.as_str());
                self.files.iter().filter(|file| is_below(file.as_str(), folder)).for_each(meet);
            }
        }
        found
    }
}

/// Sets by their keys.
type Sets<K, V> = Map<K, RedBlackTreeSetSync<V>>;

fn insert<K: Eq + Hash + Clone, V: Ord + Clone>(sets: &mut Sets<K, V>, key: &K, value: V) {
    match sets.get_mut(key) {
        Some(set) => set.insert_mut(value),
        None => {
            let mut set = RedBlackTreeSetSync::new_sync();
            set.insert_mut(value);
            sets.insert_mut(key.clone(), set);
        }
    }
}

/// Takes a value out of a key's set, and the key with the last of them.
fn remove<K: Eq + Hash + Clone, V: Ord + Clone>(sets: &mut Sets<K, V>, key: &K, value: &V) {
    let Some(set) = sets.get_mut(key) else { return };
    set.remove_mut(value);
    if set.is_empty() {
        sets.remove_mut(key);
    }
}
