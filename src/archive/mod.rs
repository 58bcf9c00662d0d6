//! The value that answers: an archive's files, what their names mean, and what a check of them finds.
//!
//! An [`Archive`] is a value: changing a file gives a new one and shares whatever the change doesn't touch. What is
//! known of a file is found out when first asked for and kept as long as nothing it was found from has changed.

mod across;
mod cache;
mod check;
mod files;
mod names;

pub(crate) use cache::Cache;
pub use check::Report;
pub(crate) use files::git;
pub(crate) use files::unfinished::{Unfinished, tidy};
pub use files::{Disk, Host, HostError, LeftOut, MAX_BYTES, Memory, Stamp, Walked};
pub(crate) use files::{relative, user_folder};

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use rpds::HashTrieMapSync;

use self::across::accepted::Ledger;
use self::cache::Fingerprints;
use self::files::Below;
use self::files::door::Door;
use self::files::file::File;
use self::names::index::Index;
use self::names::resolved::{Resolved, Shared, SharedKey};
use crate::findings::ACCEPTED;
use crate::forecast::SimulationCache;
use crate::plan::lower::ParsedFile;
use crate::plan::{Plan, Scope};
use crate::rules::settings::Settings;
use crate::source::{FileId, Text};
use crate::syntax::Tree;
use crate::words::FileKind;

/// So many scopes are kept for others to share; a club has one for each set of files that its plans use.
const SCOPES: usize = 64;

/// A map of which a changed one shares what the change does not touch.
type Map<K, V> = HashTrieMapSync<K, V, foldhash::fast::RandomState>;

/// Every file below one root and what is known of it. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Archive {
    inner: Arc<Inner>,
}

#[derive(Debug)]
struct Inner {
    door: Arc<Door>,
    /// Texts that hold whatever the disk says.
    open: BTreeMap<FileId, Text>,
    files: RwLock<Map<FileId, Arc<File>>>,
    resolved_files: RwLock<Map<FileId, Arc<Resolved>>>,
    /// Those of them that hold in this archive: no file of it changes, so that nobody need look again.
    held: RwLock<HashMap<FileId, Arc<Resolved>>>,
    /// Scopes that several files share.
    scopes: RwLock<Map<SharedKey, Shared>>,
    /// Dives that were run: by what they are, not by where they stand, so that no change makes one untrue.
    runs: SimulationCache,
    /// Files and folders that root files leave out, by their paths from the root.
    excluded: OnceLock<Vec<String>>,
    /// Findings that were accepted as they were.
    accepted: OnceLock<Arc<Ledger>>,
    /// The files on disk below the root.
    on_disk: OnceLock<Arc<Below>>,
    /// What the files say to each other.
    index: OnceLock<Index>,
    /// What earlier runs found.
    cache: Option<Arc<Cache>>,
    fingerprints: Fingerprints,
}

/// A change to one file.
#[derive(Debug, Clone)]
pub enum Change {
    /// The file is open in an editor and now reads so, whatever the disk says.
    Open(FileId, Text),
    /// The file is no longer open: the disk's word holds again.
    Closed(FileId),
    /// The file may have changed on disk; ignored for open files.
    Touched(FileId),
}

impl Change {
    fn file(&self) -> &FileId {
        match self {
            Change::Open(file, _) | Change::Closed(file) | Change::Touched(file) => file,
        }
    }
}

impl Archive {
    /// The root of the archive that holds `path`, a file or a folder: the folder of the nearest `leadsman.kdl` at or
    /// above it, else the repository's root, else the file's own folder.
    pub fn root_of(host: &dyn Host, path: &Path) -> PathBuf {
        let canonical = host.canonical(path).unwrap_or_else(|_| {
            // What isn't there yet may still have a folder that is.
            let name = path.file_name().unwrap_or_default();
            let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
            host.canonical(folder).map_or_else(|_| files::lexical(path), |folder| folder.join(name))
        });
        let is_folder = host.exists(&canonical) && !host.is_file(&canonical);
        let own = if is_folder { &*canonical } else { canonical.parent().unwrap_or(&canonical) };
        let above = |has: &dyn Fn(&Path) -> bool| own.ancestors().find(|folder| has(folder)).map(Path::to_owned);
        above(&|folder| host.is_file(&folder.join("leadsman.kdl")))
            .or_else(|| above(&|folder| host.exists(&folder.join(".git"))))
            .unwrap_or_else(|| own.to_owned())
    }

    /// An archive over a root. Reads nothing until asked.
    pub fn open(host: Arc<dyn Host>, root: &Path) -> Archive {
        let root = host.canonical(root).unwrap_or_else(|_| root.to_owned());
        Archive {
            inner: Arc::new(Inner {
                door: Arc::new(Door::new(host, root)),
                open: BTreeMap::new(),
                files: RwLock::new(Map::default()),
                resolved_files: RwLock::new(Map::default()),
                held: RwLock::default(),
                scopes: RwLock::new(Map::default()),
                runs: SimulationCache::new(),
                excluded: OnceLock::new(),
                accepted: OnceLock::new(),
                on_disk: OnceLock::new(),
                index: OnceLock::new(),
                cache: None,
                fingerprints: Fingerprints::default(),
            }),
        }
    }

    /// The same, going by what earlier runs found wherever it still holds, and telling it what is found now.
    #[must_use]
    pub(crate) fn with_cache(self, cache: Arc<Cache>) -> Archive {
        let mut archive = self.with(&[]);
        // Nobody else has it yet.
        if let Some(inner) = Arc::get_mut(&mut archive.inner) {
            inner.cache = Some(cache);
        }
        archive
    }

    /// The folder that nothing is read outside of.
    pub fn root(&self) -> &Path {
        &self.inner.door.root
    }

    /// The id of a path inside the root; `None` for one outside.
    pub fn id_of(&self, path: &Path) -> Option<FileId> {
        let Door { host, root, .. } = &*self.inner.door;
        let below = |path: &Path| path.strip_prefix(root).ok().map(Path::to_owned);
        // The path's own letters first: a link inside the root is named by where it stands, not by what it leads to.
        let plain = path.is_absolute().then(|| below(&files::lexical(path))).flatten();
        let relative = plain.or_else(|| below(&host.canonical(path).ok()?)).or_else(|| {
            let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
            below(&host.canonical(folder).ok()?.join(path.file_name()?))
        })?;
        let parts: Option<Vec<&str>> = relative.components().map(|part| part.as_os_str().to_str()).collect();
        parts.filter(|parts| !parts.is_empty()).map(|parts| FileId::new(parts.join("/")))
    }

    /// The absolute path of a file.
    pub fn path_of(&self, file: &FileId) -> PathBuf {
        self.inner.door.path_of(file)
    }

    /// The archive after some changes.
    #[must_use]
    pub fn with(&self, changes: &[Change]) -> Archive {
        let inner = &*self.inner;
        let door = Arc::new(inner.door.anew());
        let mut open = inner.open.clone();
        let mut files = inner.files.read().unwrap_or_else(PoisonError::into_inner).clone();
        let mut on_disk = inner.on_disk.clone();
        let mut index = inner.index.clone();
        let touches = changes.iter().any(|change| change.file().as_str() == ACCEPTED);
        let accepted = if touches { OnceLock::new() } else { inner.accepted.clone() };
        for change in changes {
            let id = change.file();
            let text = match change {
                Change::Open(_, text) => {
                    open.insert(id.clone(), text.clone());
                    Ok(text.clone())
                }
                Change::Touched(_) if open.contains_key(id) => continue,
                Change::Closed(_) | Change::Touched(_) => {
                    open.remove(id);
                    let Some(known) = files.get(id) else {
                        on_disk = OnceLock::new();
                        index = OnceLock::new();
                        continue;
                    };
                    let text = door.text(id);
                    if text.is_ok() != known.text().is_ok() || matches!(change, Change::Closed(_)) {
                        on_disk = OnceLock::new();
                        index = OnceLock::new();
                    }
                    text
                }
            };
            // A file that reads as before stays the very same value, and so does all that was found from it.
            let before = files.get(id).cloned();
            if before.as_ref().is_some_and(|known| known.is_as(&text)) {
                continue;
            }
            let after = Arc::new(File::new(id.clone(), text, door.clone()));
            files.insert_mut(id.clone(), after.clone());
            if let Some(mut changed) = index.take() {
                match before.filter(|_| changed.knows(id)) {
                    Some(before) => changed.change(&before, &after),
                    None if files::summary::named_kind(id).is_some() || open.contains_key(id) => changed.add(&after),
                    None => {}
                }
                index = OnceLock::from(changed);
            }
        }
        let resolved_files = inner.resolved_files.read().unwrap_or_else(PoisonError::into_inner).clone();
        let scopes = inner.scopes.read().unwrap_or_else(PoisonError::into_inner).clone();
        Archive {
            inner: Arc::new(Inner {
                door: door.clone(),
                open,
                files: RwLock::new(files),
                resolved_files: RwLock::new(resolved_files),
                held: RwLock::default(),
                scopes: RwLock::new(scopes),
                runs: inner.runs.clone(),
                excluded: OnceLock::new(),
                accepted,
                on_disk,
                index,
                cache: inner.cache.clone(),
                fingerprints: Fingerprints::default(),
            }),
        }
    }

    /// A file's text.
    ///
    /// # Errors
    /// What kept it from being read, a link out of the root among the causes.
    pub fn text(&self, file: &FileId) -> Result<Text, HostError> {
        self.file(file).text().clone()
    }

    /// Whether its text is an editor's, or another that is on no disk.
    pub(crate) fn is_open(&self, file: &FileId) -> bool {
        self.inner.open.contains_key(file)
    }

    /// Whether there is such a file, whatever its kind.
    pub fn holds(&self, file: &FileId) -> bool {
        self.inner.door.host.is_file(&self.path_of(file))
    }

    /// A file's bytes as they lie on disk now.
    ///
    /// # Errors
    /// What kept it from being read, a link out of the root among the causes.
    pub(crate) fn bytes(&self, file: &FileId) -> Result<Vec<u8>, HostError> {
        self.inner.door.bytes(file)
    }

    /// What a link says that it leads to, as it is written; `None` for what is no link.
    pub(crate) fn link_text(&self, file: &FileId) -> Option<Vec<u8>> {
        self.inner.door.host.link_text(&self.path_of(file))
    }

    /// The file of the archive that a link leads to in the end.
    pub(crate) fn leads_to(&self, file: &FileId) -> Option<FileId> {
        let path = self.inner.door.host.canonical(&self.path_of(file)).ok()?;
        let relative = path.strip_prefix(&self.inner.door.root).ok()?;
        Some(FileId::new(relative.to_str()?.replace('\\', "/")))
    }

    /// A file's tree, if it can be read.
    #[doc(hidden)]
    pub fn tree(&self, file: &FileId) -> Option<Tree> {
        Some(self.file(file).word()?.source.tree.clone())
    }

    /// What a file says, read but not resolved, if it can be read: its definitions, and every name in it that stands
    /// for a thing.
    #[doc(hidden)]
    pub fn word(&self, file: &FileId) -> Option<Arc<ParsedFile>> {
        self.file(file).word()
    }

    /// The kind of a file by its name; a file of any other name is read as a plan.
    pub(crate) fn kind(&self, file: &FileId) -> FileKind {
        files::summary::kind_of(file)
    }

    /// The plan of a file, names resolved and template merged.
    #[doc(hidden)]
    pub fn plan(&self, file: &FileId) -> Option<Arc<Plan>> {
        self.resolved(file).plan.clone()
    }

    /// What names mean in a file.
    #[doc(hidden)]
    pub fn scope(&self, file: &FileId) -> Arc<Scope> {
        self.resolved(file).scope.clone()
    }

    /// What a file is held to, and where that is set.
    pub(crate) fn settings(&self, file: &FileId) -> Settings {
        let waivers = self.word(file).map(|word| word.waivers.clone()).unwrap_or_default();
        let resolved = self.resolved(file);
        Settings::of(&resolved.scope, resolved.plan.as_deref(), &waivers)
    }

    /// The dives that were run of late, for whoever runs one.
    #[doc(hidden)]
    pub fn runs(&self) -> &SimulationCache {
        &self.inner.runs
    }

    /// The files whose definitions a file sees, itself first and the nearest next.
    #[doc(hidden)]
    pub fn in_sight(&self, file: &FileId) -> Vec<FileId> {
        self.resolved(file).seen.iter().map(|seen| seen.file.id.clone()).collect()
    }

    /// Files whose answers depend on this one, itself included, in path order. The first call reads all of the archive.
    #[doc(hidden)]
    pub fn dependants(&self, file: &FileId) -> Vec<FileId> {
        if file.as_str() == ACCEPTED {
            return self.walk(&[]);
        }
        let mut found = self.index().dependants(file);
        // What a plan's dives leave is where later ones begin.
        let plans: Vec<FileId> = found.iter().filter(|file| self.kind(file) == FileKind::Plan).cloned().collect();
        found.extend(plans.iter().flat_map(|plan| self.later(plan)));
        found.extend(plans.iter().flat_map(|plan| self.practised_by(plan)));
        found.into_iter().collect()
    }

    fn index(&self) -> &Index {
        if let Some(index) = self.inner.index.get() {
            return index;
        }
        // Made outside the cell: threads that wait for it inside would take up work that waits for it too.
        let made = Index::of(self);
        self.inner.index.get_or_init(|| made)
    }

    /// A file as it is now, read if it never was.
    fn file(&self, id: &FileId) -> Arc<File> {
        if let Some(file) = self.at_hand(id) {
            return file;
        }
        // Read outside the lock; should two threads meet here, the first one's reading stands.
        let file = Arc::new(self.as_it_is(id));
        let mut files = self.inner.files.write().unwrap_or_else(PoisonError::into_inner);
        if let Some(first) = files.get(id) {
            return first.clone();
        }
        files.insert_mut(id.clone(), file.clone());
        file
    }

    /// A file that was asked for before.
    fn at_hand(&self, id: &FileId) -> Option<Arc<File>> {
        self.inner.files.read().unwrap_or_else(PoisonError::into_inner).get(id).cloned()
    }

    /// A file as it is, opened only if the cache can't tell what it says.
    fn as_it_is(&self, id: &FileId) -> File {
        let inner = &*self.inner;
        let read = || File::new(id.clone(), inner.read(id), inner.door.clone());
        let Some(cache) = &inner.cache else { return read() };
        // Of what lies where links may lead stamps tell too little; and they are taken before the file is read.
        let is_plain = || self.on_disk().files.binary_search(id).is_ok();
        let stamp = (!inner.open.contains_key(id) && is_plain()).then(|| inner.door.stamp(id)).flatten();
        let told = stamp.and_then(|stamp| Some((stamp, cache.told(id, &stamp)?)));
        let file = match told {
            Some((stamp, fingerprint)) => File::unopened(id.clone(), stamp, fingerprint, inner.door.clone()),
            None => read().stamped(stamp),
        };
        let known = cache.summary(&file);
        file.knowing(known)
    }

    /// Lets go of what was found out of a file; it is found out again when asked for.
    fn forget(&self, id: &FileId) {
        self.inner.resolved_files.write().unwrap_or_else(PoisonError::into_inner).remove_mut(id);
        self.inner.held.write().unwrap_or_else(PoisonError::into_inner).remove(id);
        self.file(id).forget();
    }

    /// What a file sees now.
    fn resolved(&self, id: &FileId) -> Arc<Resolved> {
        if let Some(held) = self.inner.held.read().unwrap_or_else(PoisonError::into_inner).get(id) {
            return held.clone();
        }
        let known = self.inner.resolved_files.read().unwrap_or_else(PoisonError::into_inner).get(id).cloned();
        let known = known.filter(|known| known.holds(self));
        // Found out outside the locks; should two threads meet here, the first one's finding stands.
        let resolved = known.unwrap_or_else(|| Arc::new(Resolved::of(self, id)));
        let mut held = self.inner.held.write().unwrap_or_else(PoisonError::into_inner);
        if let Some(first) = held.get(id) {
            return first.clone();
        }
        held.insert(id.clone(), resolved.clone());
        let mut files = self.inner.resolved_files.write().unwrap_or_else(PoisonError::into_inner);
        files.insert_mut(id.clone(), resolved.clone());
        resolved
    }
}

impl Archive {
    /// A scope as it was shared last; whoever takes it sees to it that it still holds.
    fn shared(&self, key: &SharedKey) -> Option<Shared> {
        self.inner.scopes.read().unwrap_or_else(PoisonError::into_inner).get(key).cloned()
    }

    fn share(&self, key: SharedKey, scope: Shared) {
        let mut scopes = self.inner.scopes.write().unwrap_or_else(PoisonError::into_inner);
        if scopes.size() >= SCOPES {
            *scopes = Map::default();
        }
        scopes.insert_mut(key, scope);
    }
}

impl Inner {
    /// A file's text: the open one, else the disk's, and that only inside the root.
    fn read(&self, id: &FileId) -> Result<Text, HostError> {
        match self.open.get(id) {
            Some(text) => Ok(text.clone()),
            None => self.door.text(id),
        }
    }
}
