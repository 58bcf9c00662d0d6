//! What a file sees: the files that its names may come from, what the names mean, and the plan that this makes.

use std::collections::HashSet;
use std::sync::{Arc, OnceLock};

use crate::archive::Archive;
use crate::archive::across::neighbours::Part;
use crate::archive::files::file::File;
use crate::archive::files::path::{Stray, folder_of, resolve};
use crate::archive::files::summary::named_kind;
use crate::forecast::Times;
use crate::plan::lower::{self, ParsedFile};
use crate::plan::{House, Plan, Scope, Use};
use crate::source::{FileId, Placed, Span};
use crate::words::FileKind;

/// A file's word for another.
#[derive(Debug, Clone)]
pub(in crate::archive) struct Edge {
    /// The path as written.
    pub said: Placed<String>,
    /// The file meant, as far as the path alone tells.
    pub to: Result<FileId, Stray>,
    /// Whether it names a template, not a file to use.
    pub template: bool,
}

impl Edge {
    /// The file meant, where its name is one that is ever read.
    pub(crate) fn target(&self) -> Option<&FileId> {
        let target = self.to.as_ref().ok()?;
        let kind = named_kind(target)?;
        (!self.template || kind == FileKind::Plan).then_some(target)
    }

    fn to_use(&self) -> Use {
        Use { path: self.said.clone(), file: self.target().cloned() }
    }
}

/// A file in sight.
#[derive(Debug, Clone)]
pub(in crate::archive) struct Seen {
    /// The file.
    pub file: Arc<File>,
    /// Which of the looking file's own edges it came through; `None` for the file itself and what the house brings.
    pub via: Option<usize>,
}

/// What one file sees.
#[derive(Debug)]
pub(in crate::archive) struct Resolved {
    /// Every file it was made from, missing ones included.
    made_from: Vec<Arc<File>>,
    /// The files in sight, the nearest first: the file itself, what the house brings, what the file uses.
    pub seen: Vec<Seen>,
    /// The file's own edges.
    pub edges: Vec<Edge>,
    /// What names mean.
    pub scope: Arc<Scope>,
    /// The plan, if the file holds one.
    pub plan: Option<Arc<Plan>>,
    /// What others ask of the plan's part in a day.
    part: OnceLock<Option<Part>>,
    /// When the plan's dives are, the plan taken by itself.
    pub times: Arc<OnceLock<Times>>,
}

impl Resolved {
    /// Whether nothing that it was made from has changed.
    pub(crate) fn holds(&self, archive: &Archive) -> bool {
        self.made_from.iter().all(|file| Arc::ptr_eq(&archive.file(&file.id), file))
    }

    /// The files that it was made from, missing ones included.
    pub(crate) fn made_from(&self) -> impl Iterator<Item = &Arc<File>> {
        self.made_from.iter()
    }

    /// What others ask of the plan's part in a day; `None` where there is no plan, or no day.
    pub(crate) fn part(&self) -> Option<&Part> {
        self.part.get_or_init(|| self.plan.as_deref().and_then(Part::of)).as_ref()
    }

    /// What a file sees now.
    pub(crate) fn of(archive: &Archive, id: &FileId) -> Resolved {
        let mut reading = Reading { archive, made_from: Vec::new(), known: HashSet::new() };
        let own = reading.file(id);
        let house_id = reading.house_of(id);
        let edges = own.word().map(|word| reading.edges(&word)).unwrap_or_default();
        let seen = reading.seen(&own, house_id.as_ref(), &edges);
        let house = house_id.as_ref().map(|id| reading.house(id)).unwrap_or_default();
        let scope = scope(archive, &seen, house_id, house);
        let plan = own.word().filter(|_| own.kind() == FileKind::Plan).and_then(|word| {
            let templates = reading.templates(id, &edges);
            let nodes: Vec<_> = templates.iter().filter_map(|template| template.plan_node()).collect();
            let from = edges.iter().find(|edge| edge.template).map(Edge::to_use);
            Some(Arc::new(lower::plan(&word.plan_node()?, &nodes, from, &scope)))
        });
        let (part, times) = (OnceLock::new(), Arc::default());
        Resolved { made_from: reading.made_from, seen, edges, scope, plan, part, times }
    }
}

/// A scope that others may share, and what it was made from.
#[derive(Debug, Clone)]
pub(in crate::archive) struct Shared {
    files: Vec<Arc<File>>,
    scope: Arc<Scope>,
}

/// Names a shared scope: the root file that holds and the files in sight, in order.
pub(in crate::archive) type SharedKey = (Option<FileId>, Vec<FileId>);

/// What names mean to a file that sees some others. Most plans define nothing and use the same kit: they share one scope.
fn scope(archive: &Archive, seen: &[Seen], house_id: Option<FileId>, house: House) -> Arc<Scope> {
    let words = |seen: &[Seen]| -> Vec<Arc<ParsedFile>> { seen.iter().filter_map(|seen| seen.file.word()).collect() };
    let adds = |word: &ParsedFile| word.definitions().next().is_some() || !word.records.is_empty();
    let (own, others) = match seen {
        [own, others @ ..] => (own.file.word(), others),
        [] => (None, seen),
    };
    if own.is_some_and(|word| adds(&word)) {
        return Arc::new(lower::scope(&words(seen), house));
    }
    let key: SharedKey = (house_id, others.iter().map(|seen| seen.file.id.clone()).collect());
    // The root file is not among the others where it is the one that looks.
    let house_file = key.0.iter().map(|id| archive.file(id));
    let files: Vec<Arc<File>> = others.iter().map(|seen| seen.file.clone()).chain(house_file).collect();
    let same = |known: &Shared| known.files.iter().zip(&files).all(|(one, other)| Arc::ptr_eq(one, other));
    if let Some(known) = archive.shared(&key).filter(same) {
        return known.scope;
    }
    let scope = Arc::new(lower::scope(&words(others), house));
    archive.share(key, Shared { files, scope: scope.clone() });
    scope
}

/// Reads files of an archive and remembers which.
pub(in crate::archive) struct Reading<'a> {
    archive: &'a Archive,
    made_from: Vec<Arc<File>>,
    known: HashSet<FileId>,
}

impl<'a> Reading<'a> {
    /// A reading whose memory is of no use.
    pub(crate) fn of(archive: &'a Archive) -> Reading<'a> {
        Reading { archive, made_from: Vec::new(), known: HashSet::new() }
    }

    fn file(&mut self, id: &FileId) -> Arc<File> {
        let file = self.archive.file(id);
        if self.known.insert(id.clone()) {
            self.made_from.push(file.clone());
        }
        file
    }

    /// The root file nearest above a file; the file itself if it is one.
    pub(crate) fn house_of(&mut self, id: &FileId) -> Option<FileId> {
        let mut folder = folder_of(id.as_str());
        loop {
            let slash = if folder.is_empty() { "" } else { "/" };
            let house = FileId::new(format!("{folder}{slash}leadsman.kdl"));
            let missing = |file: &File| {
                file.text().as_ref().is_err_and(|error| error.source.kind() == std::io::ErrorKind::NotFound)
            };
            if !missing(&self.file(&house)) {
                return Some(house);
            }
            if folder.is_empty() {
                return None;
            }
            folder = folder_of(folder);
        }
    }

    /// A file's own edges, each resolved within the archive that the file belongs to.
    pub(crate) fn edges(&mut self, word: &ParsedFile) -> Vec<Edge> {
        if word.uses.is_empty() && word.from.is_none() {
            return Vec::new();
        }
        let id = &word.source.file;
        let house = self.house_of(id);
        let confine = house.as_ref().map_or("", |house| folder_of(house.as_str()));
        let edge = |said: &Placed<String>, template| Edge {
            to: resolve(id, &said.value, confine),
            said: said.clone(),
            template,
        };
        let uses = word.uses.iter().map(|said| edge(said, false));
        uses.chain(word.from.iter().map(|said| edge(said, true))).collect()
    }

    fn seen(&mut self, own: &Arc<File>, house: Option<&FileId>, edges: &[Edge]) -> Vec<Seen> {
        let mut seen = vec![Seen { file: own.clone(), via: None }];
        let mut visited = HashSet::from([own.id.clone()]);
        // A stack, not recursion: a chain of uses may be as long as the archive is large.
        let targets = edges.iter().enumerate().filter_map(|(via, edge)| Some((edge.target()?.clone(), Some(via))));
        let mut ahead: Vec<(FileId, Option<usize>)> = targets.collect();
        ahead.reverse();
        ahead.extend(house.map(|house| (house.clone(), None)));
        while let Some((id, via)) = ahead.pop() {
            if !visited.insert(id.clone()) {
                continue;
            }
            let file = self.file(&id);
            let Some(word) = file.word() else { continue };
            let further = self.edges(&word);
            ahead.extend(further.iter().rev().filter_map(|edge| Some((edge.target()?.clone(), via))));
            seen.push(Seen { file, via });
        }
        seen
    }

    /// What the root file says for every file.
    fn house(&mut self, id: &FileId) -> House {
        let Some(word) = self.file(id).word() else { return House::default() };
        let uses = self.edges(&word).iter().filter(|edge| !edge.template).map(Edge::to_use).collect();
        let whole = Span::new(0, word.source.tree.text().len() as u32);
        let for_all = word.waivers.iter().filter(|waiver| waiver.scope.span == whole);
        House { uses, waivers: for_all.cloned().collect(), ..word.house.clone() }
    }

    /// The templates that a plan starts from, the nearest first, up to where the chain ends or bites its tail.
    pub(crate) fn templates(&mut self, id: &FileId, edges: &[Edge]) -> Vec<Arc<ParsedFile>> {
        let mut templates: Vec<Arc<ParsedFile>> = Vec::new();
        let mut visited = HashSet::from([id.clone()]);
        let next = |edges: &[Edge]| edges.iter().find(|edge| edge.template).and_then(Edge::target).cloned();
        let mut ahead = next(edges);
        while let Some(id) = ahead.filter(|id| visited.insert(id.clone())) {
            let Some(word) = self.file(&id).word().filter(|word| word.plan.is_some()) else { break };
            ahead = next(&self.edges(&word));
            templates.push(word);
        }
        templates
    }
}
