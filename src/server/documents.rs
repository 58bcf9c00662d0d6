//! Open documents and the archives they belong to.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tower_lsp::ls_types::{Location, Range, Uri};

use super::abilities::Abilities;
use super::place;
use crate::archive::{Archive, Change, Host, Memory};
use crate::source::{FileId, Place, Span, Text};
use crate::words::FileKind;

/// A document that is open in the client.
#[derive(Debug, Clone)]
pub(super) struct Document {
    /// The root of the archive it belongs to.
    pub root: PathBuf,
    /// Its name in that archive.
    pub file: FileId,
    /// Its path; an unsaved document has none.
    pub path: Option<PathBuf>,
    /// The client's number of its text.
    pub version: i32,
    /// Its text.
    pub text: Text,
}

/// Everything that answers are worked out from, as it was at one moment. Cheap to clone.
#[derive(Debug, Clone)]
pub(super) struct Snapshot {
    host: Arc<dyn Host>,
    /// What the client can do.
    pub abilities: Arc<Abilities>,
    /// Open documents, by the addresses the client gives them.
    pub documents: Arc<BTreeMap<Uri, Document>>,
    archives: Arc<BTreeMap<PathBuf, Archive>>,
    /// Roots of the open folders, whose archives are kept without a document too.
    kept: Arc<BTreeSet<PathBuf>>,
}

/// A file of an archive that a client asks about.
#[derive(Debug)]
pub(super) struct Here<'a> {
    snapshot: &'a Snapshot,
    /// Its archive.
    pub archive: Archive,
    /// Its name there.
    pub file: FileId,
    /// Its text.
    pub text: Text,
}

impl Snapshot {
    /// Nothing open.
    pub(super) fn new(host: Arc<dyn Host>) -> Snapshot {
        let (documents, archives, kept) = (Arc::default(), Arc::default(), Arc::default());
        Snapshot { host, abilities: Arc::default(), documents, archives, kept }
    }

    /// The file at an address, open or not, if it can be read.
    pub(super) fn here(&self, uri: &Uri) -> Option<Here<'_>> {
        let (archive, file) = match self.documents.get(uri) {
            Some(document) => (self.archives.get(&document.root)?.clone(), document.file.clone()),
            None => {
                let (root, path) = self.home(uri);
                let archive = self.archives.get(&root).cloned().unwrap_or_else(|| self.archive(&root, path.is_some()));
                let file = archive.id_of(&path?)?;
                (archive, file)
            }
        };
        let text = archive.text(&file).ok()?;
        Some(Here { snapshot: self, archive, file, text })
    }

    /// Every plan, kit and root file in the open folders, in path order, that can be read.
    pub(super) fn in_folders(&self) -> impl Iterator<Item = Here<'_>> {
        let walked = self.abilities.folders.iter().flat_map(|folder| self.host.walk(folder, folder).files);
        let is_ours = |path: &PathBuf| {
            path.file_name().and_then(|name| name.to_str()).is_some_and(|name| FileKind::of_name(name).is_some())
        };
        let paths: BTreeSet<PathBuf> = walked.filter(is_ours).collect();
        // Archives below an open folder that no document has called for.
        let mut others: BTreeMap<PathBuf, Archive> = BTreeMap::new();
        paths.into_iter().filter_map(move |path| {
            let root = Archive::root_of(&*self.host, &path);
            let known = self.archives.get(&root).or_else(|| others.get(&root)).cloned();
            let archive = known.unwrap_or_else(|| {
                let archive = self.archive(&root, true);
                others.insert(root, archive.clone());
                archive
            });
            let file = archive.id_of(&path)?;
            let text = archive.text(&file).ok()?;
            Some(Here { snapshot: self, archive, file, text })
        })
    }

    /// The address of a file of an archive: the client's own where it has the file open.
    pub(super) fn uri(&self, archive: &Archive, file: &FileId) -> Option<Uri> {
        let path = archive.path_of(file);
        let is_it = |document: &Document| match &document.path {
            Some(own) => *own == path,
            None => document.root == archive.root() && document.file == *file,
        };
        let open = self.documents.iter().find(|(_, document)| is_it(document));
        open.map(|(uri, _)| uri.clone()).or_else(|| place::uri_of(&path))
    }

    /// Open documents of an archive, each with the files that its findings rest on.
    pub(super) fn sights(&self) -> impl Iterator<Item = (&Uri, BTreeSet<PathBuf>)> {
        self.documents.iter().filter_map(|(uri, document)| {
            let archive = self.archives.get(&document.root)?;
            let seen = archive.rests_on(&document.file).into_iter().map(|file| archive.path_of(&file));
            Some((uri, seen.collect()))
        })
    }

    /// Files that open documents use and that are not open themselves, where the disk says otherwise than we know.
    pub(super) fn changed_on_disk(&self) -> BTreeSet<PathBuf> {
        let mut changed = BTreeSet::new();
        for document in self.documents.values().filter(|document| document.path.is_some()) {
            let Some(archive) = self.archives.get(&document.root) else { continue };
            for file in used(archive, &document.file) {
                let path = archive.path_of(&file);
                if self.documents.values().any(|document| document.path.as_ref() == Some(&path)) {
                    continue;
                }
                let known = archive.text(&file).ok().map(|text| text.hash());
                let now = self.host.read(&path).ok().map(|bytes| Text::from_bytes(&bytes).hash());
                if known != now {
                    changed.insert(path);
                }
            }
        }
        changed
    }

    /// Whether every open document lies in a folder that the client has open, and so watches.
    pub(super) fn lies_in_folders(&self) -> bool {
        let inside = |path: &PathBuf| self.abilities.folders.iter().any(|folder| path.starts_with(folder));
        self.documents.values().filter_map(|document| document.path.as_ref()).all(inside)
    }

    /// The root of the archive that an address belongs to, and its path. What has no path is an archive of its own.
    fn home(&self, uri: &Uri) -> (PathBuf, Option<PathBuf>) {
        match place::path_of(uri) {
            Some(path) => (Archive::root_of(&*self.host, &path), Some(path)),
            None => (PathBuf::from(uri.as_str()), None),
        }
    }

    /// An archive over a root, the open documents in it read as they are in the client.
    fn archive(&self, root: &Path, on_disk: bool) -> Archive {
        if !on_disk {
            return Archive::open(Arc::new(Memory::new()), Path::new("/"));
        }
        let archive = Archive::open(self.host.clone(), root);
        let open = self.documents.values();
        let changes = open
            .filter_map(|document| Some(Change::Open(archive.id_of(document.path.as_ref()?)?, document.text.clone())));
        let changes: Vec<Change> = changes.collect();
        if changes.is_empty() { archive } else { archive.with(&changes) }
    }

    /// Opens the archives of the client's folders, which reads nothing yet.
    pub(super) fn open_folders(&mut self) {
        let roots = self.abilities.folders.iter().map(|folder| Archive::root_of(&*self.host, folder));
        self.kept = Arc::new(roots.collect());
        for root in &*self.kept.clone() {
            if !self.archives.contains_key(root) {
                let archive = self.archive(root, true);
                Arc::make_mut(&mut self.archives).insert(root.clone(), archive);
            }
        }
    }

    /// Opens a document.
    pub(super) fn open(&mut self, uri: &Uri, version: i32, text: Text) {
        let (root, path) = self.home(uri);
        if !self.archives.contains_key(&root) {
            let archive = self.archive(&root, path.is_some());
            Arc::make_mut(&mut self.archives).insert(root.clone(), archive);
        }
        let id = path.as_ref().and_then(|path| self.archives.get(&root)?.id_of(path));
        let file = id.unwrap_or_else(|| FileId::new(name_of(uri)));
        Arc::make_mut(&mut self.documents).insert(uri.clone(), Document { root, file, path, version, text });
    }

    /// Changes an open document.
    pub(super) fn edit(&mut self, uri: &Uri, change: impl FnOnce(&mut Document)) {
        if let Some(document) = Arc::make_mut(&mut self.documents).get_mut(uri) {
            change(document);
        }
    }

    /// Closes a document; its path, where it has one, is to be looked at again.
    pub(super) fn close(&mut self, uri: &Uri) -> Option<PathBuf> {
        Arc::make_mut(&mut self.documents).remove(uri)?.path
    }

    /// Tells the archives what the documents now say, and which other files to look at again; lets go of archives
    /// without a document.
    pub(super) fn settle(&mut self, edited: &BTreeSet<Uri>, closed: &BTreeSet<PathBuf>, touched: &BTreeSet<PathBuf>) {
        let documents = self.documents.clone();
        let archives = Arc::make_mut(&mut self.archives);
        archives
            .retain(|root, _| self.kept.contains(root) || documents.values().any(|document| document.root == *root));
        for (root, archive) in archives {
            let edited = edited.iter().filter_map(|uri| documents.get(uri));
            let opened = edited.filter_map(|document| {
                let file = match &document.path {
                    // One file may lie in several archives, one below the other.
                    Some(path) => archive.id_of(path)?,
                    None => (document.root == *root).then(|| document.file.clone())?,
                };
                Some(Change::Open(file, document.text.clone()))
            });
            let closed = closed.iter().filter_map(|path| archive.id_of(path)).map(Change::Closed);
            let touched = touched.iter().filter_map(|path| archive.id_of(path)).map(Change::Touched);
            let changes: Vec<Change> = closed.chain(touched).chain(opened).collect();
            if !changes.is_empty() {
                *archive = archive.with(&changes);
            }
        }
    }

    /// Looks again which archive each document belongs to; says which moved.
    pub(super) fn rehome(&mut self) -> Vec<Uri> {
        let home = |(uri, document): (&Uri, &Document)| (uri.clone(), self.home(uri).0, document.root.clone());
        let homes: Vec<_> = self.documents.iter().map(home).collect();
        let moved = homes.into_iter().filter(|(_, now, before)| now != before).map(|(uri, ..)| uri);
        let moved: Vec<Uri> = moved.collect();
        for uri in &moved {
            if let Some(document) = self.documents.get(uri).cloned() {
                self.open(uri, document.version, document.text);
            }
        }
        moved
    }
}

impl Here<'_> {
    /// A span of this file as a range.
    pub(super) fn range(&self, span: Span) -> Range {
        place::range(&self.text, span, self.snapshot.abilities.encoding)
    }

    /// A range of this file as a span.
    pub(super) fn span(&self, range: Range) -> Span {
        place::span(&self.text, range, self.snapshot.abilities.encoding)
    }

    /// A place as the client knows it.
    pub(super) fn location(&self, at: &Place) -> Option<Location> {
        if at.file == self.file {
            return Some(Location { uri: self.snapshot.uri(&self.archive, &at.file)?, range: self.range(at.span) });
        }
        let text = self.archive.text(&at.file).ok()?;
        let range = place::range(&text, at.span, self.snapshot.abilities.encoding);
        Some(Location { uri: self.snapshot.uri(&self.archive, &at.file)?, range })
    }

    /// The version of a document that is open.
    pub(super) fn version(&self, uri: &Uri) -> Option<i32> {
        self.snapshot.documents.get(uri).map(|document| document.version)
    }

    /// What the client can do.
    pub(super) fn abilities(&self) -> &Abilities {
        &self.snapshot.abilities
    }
}

/// The last part of an address, as a file's name.
pub(super) fn name_of(uri: &Uri) -> String {
    let path = uri.path().decode().to_string_lossy().into_owned();
    let name = path.rsplit(['/', '\\']).next().unwrap_or_default();
    if name.is_empty() { "unsaved".to_owned() } else { name.to_owned() }
}

/// The files that a file's answers come from, missing ones that it names included.
fn used(archive: &Archive, file: &FileId) -> BTreeSet<FileId> {
    let mut used: BTreeSet<FileId> = archive.in_sight(file).into_iter().chain([Archive::accepted_file()]).collect();
    let Some(own) = archive.word(file) else { return used };
    let path = archive.path_of(file);
    let folder = path.parent().unwrap_or(&path);
    let named = own.uses.iter().chain(&own.from).filter_map(|named| archive.id_of(&folder.join(&named.value)));
    used.extend(named);
    let above = folder.ancestors().take_while(|folder| folder.starts_with(archive.root()));
    used.extend(above.filter_map(|folder| archive.id_of(&folder.join("leadsman.kdl"))));
    used
}
