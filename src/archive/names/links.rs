//! What can't be resolved in a file: paths and names.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet, VecDeque};
use std::io::ErrorKind;
use std::sync::Arc;

use super::near::nearest;
use super::paste::to_paste;
use super::resolved::{Edge, Reading, Resolved};
use crate::archive::Archive;
use crate::archive::files::file::File;
use crate::archive::files::path::{folder_of, is_below, relative};
use crate::archive::files::summary::named_kind;
use crate::findings::{Level, Named, Said, Wording, said};
use crate::plan::lower::{Mention, ParsedFile, ThingKind};
use crate::plan::{Bring, ResolveError, ResolveErrorKind};
use crate::plan::{Dive, LegKind, NameUse, Plan, Scope, Status, SwitchTo, TeamMember};
use crate::source::{FileId, Place};
use crate::words::FileKind;

/// How many faults of a file come with proposals. What a reader could still look through by far; it keeps a hostile
/// file from costing time with the product of its names.
const MOST_PROPOSALS: usize = 200;

impl Archive {
    /// Everything in a file that can't be resolved.
    pub(in crate::archive) fn links(&self, file: &Arc<File>, resolved: &Resolved) -> Vec<ResolveError> {
        let Some(word) = file.word() else { return Vec::new() };
        let mut errors = Vec::new();
        for edge in &resolved.edges {
            let propose = errors.len() < MOST_PROPOSALS;
            errors.extend(self.edge_fault(file, edge, propose));
        }
        let in_dives = resolved.plan.as_ref().map(|plan| unresolved_in_dives(&file.id, plan)).unwrap_or_default();
        let told: HashSet<&Place> = in_dives.iter().map(|fault| &fault.place).collect();
        for mention in word.mentions.iter().filter(|mention| !told.contains(&mention.name.place)) {
            let propose = errors.len() < MOST_PROPOSALS;
            errors.extend(self.unresolved(file, resolved, mention, propose));
        }
        errors.extend(in_dives);
        if resolved.plan.is_some() {
            errors.extend(unused(&word));
        }
        errors.extend(duplicates(file, resolved));
        let mut errors = one_a_file(errors);
        errors.sort_by(|a, b| a.place.cmp(&b.place).then_with(|| a.message.text().cmp(b.message.text())));
        errors
    }

    /// What is wrong with a path, or with where it leads.
    fn edge_fault(&self, from: &File, edge: &Edge, propose: bool) -> Option<ResolveError> {
        let path = &edge.said.value;
        let outside = |message: Said| Some(fault(ResolveErrorKind::UseOutside, edge.said.place.clone(), message));
        let target = match &edge.to {
            Ok(target) => target,
            Err(stray) => {
                return outside(said!("{path:?} {stray}", stray = Wording(stray.message()), path).with("what", "path"));
            }
        };
        match (edge.template, named_kind(target)) {
            (_, None) => {
                return outside(
                    said!(
                        "{path:?} is no plan or kit: only files named *.plan.kdl, *.kit.kdl and leadsman.kdl are read",
                        path
                    )
                    .with("what", "kind"),
                );
            }
            (true, Some(kind)) if kind != FileKind::Plan => {
                return outside(
                    said!("{path:?} is no plan: a plan starts from a file named *.plan.kdl", path)
                        .with("what", "no-plan"),
                );
            }
            _ => {}
        }
        let file = self.file(target);
        match file.text() {
            Err(error) => {
                let what = match error.source.kind() {
                    ErrorKind::NotFound => said!("there is no such file").with("what", "missing"),
                    _ => said!("can't be read: {words}", words = Wording(&error.why()))
                        .with("error", error.source.to_string())
                        .with("what", "unread"),
                };
                let mut fault = outside(said!("{path:?}: {what}", path, what))?;
                if propose {
                    fault.instead = self.nearest_files(&from.id, edge, target);
                }
                return Some(fault);
            }
            Ok(_) if edge.template && file.word().is_none_or(|word| word.plan.is_none()) => {
                return outside(said!("{path:?} holds no plan to start from", path).with("what", "no-plan-in-it"));
            }
            Ok(_) => {}
        }
        self.ring(from, edge, target)
    }

    /// Paths of files of the archive that may have been meant.
    fn nearest_files(&self, from: &FileId, edge: &Edge, target: &FileId) -> Vec<String> {
        let fits = |file: &FileId| !edge.template || named_kind(file) == Some(FileKind::Plan);
        let files: Vec<FileId> = self.walk(&[]).into_iter().filter(|file| file != from && fits(file)).collect();
        let name = |file: &str| file.rsplit('/').next().unwrap_or_default().to_owned();
        let wanted = name(target.as_str());
        // The same name in another folder comes before a like name in the same one.
        let mut meant: Vec<&str> = files.iter().map(FileId::as_str).filter(|file| name(file) == wanted).collect();
        meant.extend(nearest(target.as_str(), files.iter().map(FileId::as_str), |_| true));
        let mut paths: Vec<String> = Vec::new();
        for file in meant {
            let path = format!("{:?}", relative(from, &FileId::new(file)));
            if !paths.contains(&path) {
                paths.push(path);
            }
        }
        paths.truncate(3);
        paths
    }

    /// Whether what an edge leads to leads back to the file that says it.
    fn ring(&self, from: &File, edge: &Edge, target: &FileId) -> Option<ResolveError> {
        let (round, templates) = match self.way(target, &from.id, edge.template) {
            Some(round) => (round, edge.template),
            None if edge.template => (self.way(target, &from.id, false)?, false),
            None => return None,
        };
        let mut names = vec![from.id.to_string()];
        names.extend(round.iter().map(ToString::to_string));
        let ring = names.join(" → ");
        let message = match templates {
            true if names.len() == 2 => said!("the plan starts from itself").with("what", "template"),
            true => said!("the plan starts from itself: {ring}", ring).with("what", "template"),
            false if names.len() == 2 => said!("the file uses itself").with("what", "use"),
            false => said!("these files use each other in a ring: {ring}", ring).with("what", "use"),
        };
        let mut fault = fault(ResolveErrorKind::UseCycle, edge.said.place.clone(), message);
        // What files mean together is plain even when they use each other; what a plan that starts from itself means
        // is not.
        fault.level = if templates { Level::Error } else { Level::Warning };
        Some(fault)
    }

    /// The shortest way from one file to another along uses and templates, or along templates alone.
    fn way(&self, from: &FileId, to: &FileId, templates_only: bool) -> Option<Vec<FileId>> {
        let mut came: HashMap<FileId, Option<FileId>> = HashMap::from([(from.clone(), None)]);
        let mut ahead = VecDeque::from([from.clone()]);
        while let Some(at) = ahead.pop_front() {
            if at == *to {
                let mut way = Vec::new();
                let mut step = Some(at);
                while let Some(file) = step {
                    step = came.get(&file).cloned().flatten();
                    way.push(file);
                }
                way.reverse();
                return Some(way);
            }
            let Some(word) = self.word(&at) else { continue };
            for edge in Reading::of(self).edges(&word) {
                let Some(next) = edge.target().filter(|_| edge.template || !templates_only) else { continue };
                if !came.contains_key(next) {
                    came.insert(next.clone(), Some(at.clone()));
                    ahead.push_back(next.clone());
                }
            }
        }
        None
    }

    /// A name that nothing in sight defines.
    fn unresolved(&self, file: &File, resolved: &Resolved, mention: &Mention, propose: bool) -> Option<ResolveError> {
        let name = &mention.name.value;
        let kinds = mention.kind.as_ref().map_or(ThingKind::RECORDED, std::slice::from_ref);
        let resolves = kinds.iter().any(|kind| defines(&resolved.scope, *kind, name));
        if resolves || mention.defines || mention.may_be_undefined {
            return None;
        }
        let other = ThingKind::ALL.into_iter().find(|kind| defines(&resolved.scope, *kind, name));
        let message = match (mention.kind, other) {
            (Some(kind), Some(other)) => said!("{name:?} is a {other}, not a {kind}", name, other, kind),
            (Some(kind), None) => said!("no {kind} {name:?} is defined in sight", kind, name),
            (None, Some(other)) => said!("{name:?} is a {other}, of which there are no records", name, other),
            (None, None) => said!("nothing in sight is called {name:?}", name),
        };
        let mut fault = unresolved(&mention.name, message);
        if !propose {
            return Some(fault);
        }
        // It may well be defined where this file doesn't look.
        if let Some((elsewhere, place, only)) = self.defined_elsewhere(file, name, kinds) {
            let path = relative(&file.id, &elsewhere);
            fault.message = said!("{name:?} is defined in {path:?}, which this file doesn't use", name, path);
            fault.related.push((place, "defined here".to_owned()));
            fault.bring = Some(Bring { path, names: vec![name.clone()], only });
        } else {
            let known: BTreeSet<&str> = kinds.iter().flat_map(|kind| names(&resolved.scope, *kind)).collect();
            // A cylinder that the file already takes in another role is less likely to be the one.
            let in_role = |cylinder: &str| {
                let word = file.word();
                let others = word.as_ref().map_or(&[][..], |word| &word.mentions[..]);
                let mut others = others.iter().filter(|other| !other.defines && other.name.value == cylinder);
                mention.kind != Some(ThingKind::Cylinder) || others.all(|other| other.part == mention.part)
            };
            let near = nearest(name, known.into_iter(), in_role);
            propose_names(&mut fault, &near, mention.of_fact);
            if let (true, None, [kind]) = (near.is_empty(), other, kinds) {
                let line = to_paste(*kind, name);
                fault.message += said!("; define it here or in a kit file that is used: {line}", line = Wording(&line));
            }
        }
        Some(fault)
    }

    /// Another kit file of the archive that a file may use and that defines a name, and whether it is the only one.
    fn defined_elsewhere(&self, file: &File, name: &str, kinds: &[ThingKind]) -> Option<(FileId, Place, bool)> {
        let house = Reading::of(self).house_of(&file.id);
        let confine = house.as_ref().map_or("", |house| folder_of(house.as_str()));
        let mut elsewhere = self.index().definers(name).filter(|(kind, place)| {
            kinds.contains(kind) && place.file != file.id && is_below(place.file.as_str(), confine)
        });
        let (_, place) = elsewhere.next()?;
        Some((place.file.clone(), place.clone(), elsewhere.all(|(_, other)| other.file == place.file)))
    }
}

/// One error for all names that one more `use` would resolve: a forgotten line is one slip, however much it was to bring.
fn one_a_file(errors: Vec<ResolveError>) -> Vec<ResolveError> {
    let mut kept: Vec<ResolveError> = Vec::new();
    let mut by_path: HashMap<String, usize> = HashMap::new();
    for mut error in errors {
        let Some(bring) = error.bring.take() else {
            kept.push(error);
            continue;
        };
        let first = by_path.get(&bring.path).and_then(|number| kept.get_mut(*number));
        let Some(first) = first else {
            by_path.insert(bring.path.clone(), kept.len());
            kept.push(ResolveError { bring: Some(bring), ..error });
            continue;
        };
        let Some(all) = &mut first.bring else { continue };
        all.only &= bring.only;
        all.names.extend(bring.names);
        if first.place > error.place {
            std::mem::swap(&mut first.place, &mut error.place);
        }
        first.related.push((error.place, "named here, too".to_owned()));
    }
    for error in &mut kept {
        let Some(bring) = &mut error.bring else { continue };
        let mut seen: HashSet<String> = HashSet::new();
        bring.names.retain(|name| seen.insert(name.clone()));
        let more = bring.names.len().saturating_sub(NAMES_TOLD);
        let told: Vec<String> = bring.names.iter().take(NAMES_TOLD).map(|name| format!("{name:?}")).collect();
        let told = if more > 0 { format!("{} and {more} more", told.join(", ")) } else { listed(&told) };
        let are = if bring.names.len() == 1 { "is" } else { "are" };
        error.message = said!(
            "{names} {are} defined in {path:?}, which this file doesn't use",
            path = bring.path,
            names = Named::new(bring.names.clone(), told),
            are = Wording(are)
        );
        error.related.sort_by(|a, b| a.0.cmp(&b.0));
    }
    kept
}

/// So many names of one file are told one by one.
const NAMES_TOLD: usize = 4;

/// Words in a row, as a sentence has them.
fn listed(words: &[String]) -> String {
    match words {
        [all @ .., last] if !all.is_empty() => format!("{} and {last}", all.join(", ")),
        _ => words.concat(),
    }
}

fn fault(kind: ResolveErrorKind, place: Place, message: Said) -> ResolveError {
    ResolveError { kind, level: Level::Error, place, message, related: Vec::new(), instead: Vec::new(), bring: None }
}

fn unresolved(name: &NameUse, message: Said) -> ResolveError {
    fault(ResolveErrorKind::UnresolvedName, name.place.clone(), message)
}

/// Says which names may have been meant: as replacements, or in words where the name says whose a fact is.
fn propose_names(fault: &mut ResolveError, near: &[&str], of_fact: bool) {
    let near: Vec<String> = near.iter().map(|name| format!("{name:?}")).collect();
    if !of_fact {
        fault.instead = near;
    } else if !near.is_empty() {
        fault.message += said!("; like it, there is {like}", like = Wording(&near.join(", ")));
    }
}

/// Names of one kind in sight.
fn names(scope: &Scope, kind: ThingKind) -> Box<dyn Iterator<Item = &str> + '_> {
    match kind {
        ThingKind::Unit => Box::new(scope.units.keys().map(String::as_str)),
        ThingKind::Canister => Box::new(scope.canisters.keys().map(String::as_str)),
        ThingKind::Cylinder => Box::new(scope.cylinders.keys().map(String::as_str)),
        ThingKind::Diver => Box::new(scope.divers.keys().map(String::as_str)),
        ThingKind::Site => Box::new(scope.sites.keys().map(String::as_str)),
        ThingKind::Routine => Box::new(scope.routines.keys().map(String::as_str)),
        ThingKind::Course => Box::new(scope.courses.keys().map(String::as_str)),
    }
}

fn defines(scope: &Scope, kind: ThingKind, name: &str) -> bool {
    match kind {
        ThingKind::Unit => scope.units.contains_key(name),
        ThingKind::Canister => scope.canisters.contains_key(name),
        ThingKind::Cylinder => scope.cylinders.contains_key(name),
        ThingKind::Diver => scope.divers.contains_key(name),
        ThingKind::Site => scope.sites.contains_key(name),
        ThingKind::Routine => scope.routines.contains_key(name),
        ThingKind::Course => scope.courses.contains_key(name),
    }
}

/// Names in dives that mean something of the dive itself: a role that is carried, a diver who dives, a step.
fn unresolved_in_dives(file: &FileId, plan: &Plan) -> Vec<ResolveError> {
    let mut names = NamesOfDive { file, seen: HashSet::new(), errors: Vec::new() };
    for first in &plan.dives {
        for dive in std::iter::once(first).chain(&first.otherwise) {
            let divers = if dive.divers.is_empty() { &first.divers } else { &dive.divers };
            // Without a diver there is nothing yet to be wrong about.
            if !divers.is_empty() {
                names.look(dive, divers);
            }
        }
    }
    names.errors
}

struct NamesOfDive<'f> {
    file: &'f FileId,
    /// An unrolled `repeat` says one place many times.
    seen: HashSet<Place>,
    errors: Vec<ResolveError>,
}

impl NamesOfDive<'_> {
    fn look(&mut self, dive: &Dive, divers: &[TeamMember]) {
        let carried = || divers.iter().flat_map(|diver| &diver.cylinders);
        let roles: BTreeSet<&str> = carried().map(|carried| carried.role.value.word()).collect();
        let team: BTreeSet<&str> = divers.iter().map(|diver| diver.name.value.as_str()).collect();
        for leg in dive.legs.iter().chain(divers.iter().flat_map(|diver| &diver.legs)) {
            match &leg.kind {
                LegKind::Switch(to) if !carried().any(|carried| carried.is_meant_by(&to.value)) => {
                    let message = match &to.value {
                        SwitchTo::Role(role) => {
                            said!("no diver of this dive carries a cylinder as {role}", role = *role)
                        }
                        SwitchTo::Cylinder(name) => {
                            said!("no diver of this dive carries a cylinder {cylinder:?}", cylinder = *name)
                        }
                    };
                    // Which cylinder's gas may be breathed there nobody knows here.
                    self.say(&to.clone().map(|to| to.text().to_owned()), &roles, false, message);
                }
                LegKind::Drop(name) | LegKind::Take(name)
                    if !carried().any(|carried| carried.name.value == name.value) =>
                {
                    let names: BTreeSet<&str> = carried().map(|carried| &*carried.name.value).collect();
                    let message = said!("no diver of this dive carries a cylinder {cylinder:?}", cylinder = name.value);
                    self.say(name, &names, false, message);
                }
                LegKind::BailOut { who: Some(who) }
                | LegKind::OffLoop { who: Some(who), .. }
                | LegKind::OnLoop { who: Some(who) } => self.diver(who, &team, false),
                _ => {}
            }
        }
        for record in &dive.dived {
            self.diver(&record.diver, &team, true);
        }
        for preparation in &dive.prepared {
            self.diver(&preparation.diver, &team, true);
            let Some(routine) = &preparation.defined else { continue };
            let steps: BTreeSet<&str> = routine.thing.steps.iter().map(|step| step.name.value.as_str()).collect();
            for done in preparation.done.iter().filter(|done| !steps.contains(&*done.step.value)) {
                let step = &done.step;
                self.say(
                    step,
                    &steps,
                    true,
                    said!("routine {routine:?} has no step {step:?}", routine = routine.name.value, step = step.value),
                );
            }
        }
    }

    fn diver(&mut self, who: &NameUse, team: &BTreeSet<&str>, of_fact: bool) {
        if !team.contains(&*who.value) {
            self.say(who, team, of_fact, said!("{diver:?} is no diver of this dive", diver = who.value));
        }
    }

    fn say(&mut self, name: &NameUse, known: &BTreeSet<&str>, of_fact: bool, message: Said) {
        if name.place.file != *self.file || name.value.is_empty() || !self.seen.insert(name.place.clone()) {
            return;
        }
        let mut fault = unresolved(name, message);
        if self.errors.len() < MOST_PROPOSALS {
            propose_names(&mut fault, &nearest(&name.value, known.iter().copied(), |_| true), of_fact);
        }
        self.errors.push(fault);
    }
}

/// Definitions in a plan's file that nothing in it names. A template's may be there for the plans that start from it.
fn unused(word: &ParsedFile) -> Vec<ResolveError> {
    if word.status == Some(Status::Template) {
        return Vec::new();
    }
    let named: BTreeSet<(ThingKind, &str)> = word
        .mentions
        .iter()
        .filter(|mention| !mention.defines)
        .filter_map(|mention| Some((mention.kind?, mention.name.value.as_str())))
        .collect();
    word.definitions()
        .filter(|(kind, name, _)| !name.value.is_empty() && !named.contains(&(*kind, name.value.as_str())))
        .map(|(kind, name, _)| {
            let message = said!("nothing in this plan uses {kind} {name:?}", name = name.value, kind);
            let mut fault = fault(ResolveErrorKind::UnusedDefinition, name.place.clone(), message);
            fault.level = Level::Note;
            fault
        })
        .collect()
}

/// So many names of two files are told one by one; of more only those that a file has a use for.
const ONE_BY_ONE: usize = 3;

/// A name that two files in sight define.
struct Duplicate {
    kind: ThingKind,
    name: String,
    nearer: Place,
    farther: Place,
}

impl Duplicate {
    /// Drawn at a place, with where it is defined both times.
    fn fault(&self, place: &Place, message: Said) -> ResolveError {
        let mut fault = fault(ResolveErrorKind::DuplicateName, place.clone(), message);
        for (place, message) in [(&self.nearer, "this one holds"), (&self.farther, "this one doesn't")] {
            if *place != fault.place {
                fault.related.push((place.clone(), message.to_owned()));
            }
        }
        fault
    }

    fn alone(&self, place: &Place) -> ResolveError {
        let message = said!(
            "{kind} {name:?} is defined in {nearer} and in {farther}; here the first holds",
            kind = self.kind,
            name = self.name,
            nearer = self.nearer.file,
            farther = self.farther.file
        );
        self.fault(place, message)
    }
}

/// Names that two files in sight define: of two files that have many in common, a copy most likely, those that this one
/// names, and the others in one.
fn duplicates(own: &File, resolved: &Resolved) -> Vec<ResolveError> {
    let mut first: BTreeMap<(ThingKind, String), Place> = BTreeMap::new();
    let mut of_files: BTreeMap<(Place, FileId, FileId), Vec<Duplicate>> = BTreeMap::new();
    for seen in &resolved.seen {
        let Some(word) = seen.file.word() else { continue };
        for (kind, name, _) in word.definitions().filter(|(_, name, _)| !name.value.is_empty()) {
            let key = (kind, name.value.clone());
            let Some(nearer) = first.get(&key).filter(|nearer| nearer.file != name.place.file) else {
                first.entry(key).or_insert_with(|| name.place.clone());
                continue;
            };
            let (nearer, farther) = (nearer.clone(), name.place.clone());
            // Drawn where this file defines it, or where it brings in the second; what the house brings twice is the
            // root file's to tell.
            let place = match (nearer.file == own.id, seen.via) {
                (true, _) => nearer.clone(),
                (false, Some(via)) => resolved.edges[via].said.place.clone(),
                (false, None) => continue,
            };
            let files = (place, nearer.file.clone(), farther.file.clone());
            of_files.entry(files).or_default().push(Duplicate { kind, name: name.value.clone(), nearer, farther });
        }
    }
    let word = own.word();
    let mentions = word.iter().flat_map(|word| &word.mentions);
    let named: BTreeSet<&str> = mentions.map(|mention| mention.name.value.as_str()).collect();
    let told = |((place, nearer, farther), all): ((Place, FileId, FileId), Vec<Duplicate>)| {
        let (alone, together): (Vec<Duplicate>, Vec<Duplicate>) = match all.len() {
            0..=ONE_BY_ONE => (all, Vec::new()),
            _ => all.into_iter().partition(|one| named.contains(one.name.as_str())),
        };
        let mut faults: Vec<ResolveError> = alone.iter().map(|one| one.alone(&place)).collect();
        match together.as_slice() {
            [] => {}
            [one] => faults.push(one.alone(&place)),
            [one, ..] => {
                let names = together.iter().take(ONE_BY_ONE).map(|one| one.name.clone()).collect();
                let names = Named::quoted(names);
                let count = together.len();
                let message = if alone.is_empty() {
                    said!(
                        "{count} names are defined in {nearer} and in {farther}, {names} among them; here the first holds",
                        count,
                        names,
                        nearer,
                        farther
                    )
                } else {
                    said!(
                        "{count} other names are defined in {nearer} and in {farther}, {names} among them; here the first \
                         holds",
                        count,
                        names,
                        nearer,
                        farther
                    )
                };
                faults.push(one.fault(&place, message));
            }
        }
        faults
    };
    of_files.into_iter().flat_map(told).collect()
}
