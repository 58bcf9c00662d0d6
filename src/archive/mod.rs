//! The value that answers: an archive's files, what their names mean, and what a check of them finds.
//!
//! An [`Archive`] is a value: changing a file gives a new one and shares whatever the change doesn't touch.

mod host;

pub use host::{Disk, Host, HostError};

use std::path::Path;
use std::sync::Arc;

use crate::findings::Finding;
use crate::plan::{Plan, Scope};
use crate::source::{FileId, Text};
use crate::syntax::Tree;
use crate::words::FileKind;

/// Every file below one root and what is known of it. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Archive {
    inner: Arc<()>,
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

/// What a check of some files says.
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// The files looked at, in path order, each with its findings in document order.
    pub files: Vec<(FileId, Vec<Finding>)>,
    /// How many rules looked at something.
    pub rules_looked: usize,
    /// How many rules lacked facts on some plan.
    pub rules_lacking_facts: usize,
}

#[allow(clippy::todo, missing_docs, unused_variables)]
impl Archive {
    /// The root of the archive that holds `path`: the folder of the nearest `leadsman.kdl` above, else the
    /// repository's root, else the file's own folder.
    pub fn root_of(host: &dyn Host, path: &Path) -> std::path::PathBuf {
        todo!()
    }
    /// An archive over a root. Reads nothing until asked.
    pub fn open(host: Arc<dyn Host>, root: &Path) -> Archive {
        todo!()
    }
    pub fn root(&self) -> &Path {
        todo!()
    }
    /// The id of a path inside the root; `None` for one outside.
    pub fn id_of(&self, path: &Path) -> Option<FileId> {
        todo!()
    }
    /// The absolute path of a file.
    pub fn path_of(&self, file: &FileId) -> std::path::PathBuf {
        todo!()
    }
    /// The archive after some changes.
    #[must_use]
    pub fn with(&self, changes: &[Change]) -> Archive {
        todo!()
    }
    /// Every plan, kit and house file below the given paths (the root if there are none), in path order; version
    /// control's ignore lists are heeded.
    pub fn walk(&self, below: &[&Path]) -> Vec<FileId> {
        todo!()
    }
    /// A file's text, if it can be read.
    pub fn text(&self, file: &FileId) -> Result<Text, HostError> {
        todo!()
    }
    /// A file's tree, if it can be read.
    pub fn tree(&self, file: &FileId) -> Option<Tree> {
        todo!()
    }
    /// The kind of a file by its name; a file of any other name is read as a plan.
    pub fn kind(&self, file: &FileId) -> FileKind {
        todo!()
    }
    /// The plan of a file, names resolved and template merged.
    pub fn plan(&self, file: &FileId) -> Option<Arc<Plan>> {
        todo!()
    }
    /// What names mean in a file.
    pub fn scope(&self, file: &FileId) -> Arc<Scope> {
        todo!()
    }
    /// Files whose answers depend on this one, itself included, in path order.
    pub fn dependants(&self, file: &FileId) -> Vec<FileId> {
        todo!()
    }
    /// The findings of one file, waivers and house levels applied, in document order.
    pub fn findings(&self, file: &FileId) -> Vec<Finding> {
        todo!()
    }
    /// Checks files in parallel; the answer doesn't depend on how many threads there are. `progress` is called
    /// after each file.
    pub fn check(&self, files: &[FileId], progress: &(dyn Fn() + Sync)) -> Report {
        todo!()
    }
}
