//! Reading within an archive's root.

use std::collections::HashMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError, RwLock};

use super::host::{Host, HostError};
use super::stamp::Stamp;
use crate::source::{FileId, Text};

/// Reads the files of one root, and nothing that leads out of it.
#[derive(Debug)]
pub(in crate::archive) struct Door {
    pub host: Arc<dyn Host>,
    pub root: PathBuf,
    /// What folders below the root lead to.
    folders: RwLock<HashMap<PathBuf, PathBuf>>,
}

impl Door {
    pub(crate) fn new(host: Arc<dyn Host>, root: PathBuf) -> Door {
        Door { host, root, folders: RwLock::default() }
    }

    /// The same, which has looked at no folder yet: what one leads to may have changed.
    pub(crate) fn anew(&self) -> Door {
        Door::new(self.host.clone(), self.root.clone())
    }

    /// The absolute path of a file.
    pub(crate) fn path_of(&self, file: &FileId) -> PathBuf {
        let mut path = self.root.clone();
        path.extend(file.as_str().split('/'));
        path
    }

    /// A file's text.
    pub(crate) fn text(&self, id: &FileId) -> Result<Text, HostError> {
        self.bytes(id).map(|bytes| Text::from_bytes(&bytes))
    }

    /// A file's bytes.
    pub(crate) fn bytes(&self, id: &FileId) -> Result<Vec<u8>, HostError> {
        let path = self.path_of(id);
        let canonical = self.canonical(&path)?;
        if !canonical.starts_with(&self.root) {
            let refused = io::Error::new(io::ErrorKind::PermissionDenied, "leads out of the archive's root");
            return Err(HostError::new(&path, refused));
        }
        self.host.read(&canonical)
    }

    /// What tells whether somebody has written to a file since; `None` where nothing does.
    pub(crate) fn stamp(&self, id: &FileId) -> Option<Stamp> {
        self.host.stamp(&self.path_of(id))
    }

    /// The path of a file with links and `..` resolved; what its folder leads to is found out once.
    fn canonical(&self, path: &Path) -> Result<PathBuf, HostError> {
        let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else { return self.host.canonical(path) };
        if self.host.is_link(path) {
            return self.host.canonical(path);
        }
        if let Some(folder) = self.folders.read().unwrap_or_else(PoisonError::into_inner).get(folder) {
            return Ok(folder.join(name));
        }
        let found = self.host.canonical(folder)?;
        self.folders.write().unwrap_or_else(PoisonError::into_inner).insert(folder.to_owned(), found.clone());
        Ok(found.join(name))
    }
}
