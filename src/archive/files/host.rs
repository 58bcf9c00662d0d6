//! The one door to the outside: all reading of disk goes through [`Host`].

use std::collections::BTreeMap;
use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use ignore::WalkBuilder;

/// The largest file that is read. A plan of a hundred dives is a few dozen kilobytes; what is larger than this is
/// something else under a plan's name, and must not fill the memory.
pub const MAX_BYTES: u64 = 16 * 1024 * 1024;

/// Why a file couldn't be read.
#[derive(Debug, Clone, thiserror::Error)]
#[error("{path}: {source}")]
pub struct HostError {
    /// The path asked for.
    pub path: String,
    /// What the system said.
    #[source]
    pub source: Arc<io::Error>,
}

impl HostError {
    /// An error of some kind about a path.
    pub fn new(path: &Path, source: impl Into<io::Error>) -> HostError {
        HostError { path: path.display().to_string(), source: Arc::new(source.into()) }
    }
}

/// The outside world as an archive sees it.
pub trait Host: fmt::Debug + Send + Sync {
    /// All bytes of a file.
    ///
    /// # Errors
    /// Whatever the system says, and anything that is no regular file or longer than [`MAX_BYTES`].
    fn read(&self, path: &Path) -> Result<Vec<u8>, HostError>;
    /// Whether there is a file.
    fn is_file(&self, path: &Path) -> bool;
    /// Whether there is anything of that name: a file, a folder, a link.
    fn exists(&self, path: &Path) -> bool {
        self.is_file(path) || self.canonical(path).is_ok()
    }
    /// The path with links and `..` resolved.
    ///
    /// # Errors
    /// Whatever the system says.
    fn canonical(&self, path: &Path) -> Result<PathBuf, HostError>;
    /// Whether what has that name is a link, or may be one.
    fn is_link(&self, _: &Path) -> bool {
        true
    }
    /// What lies below a folder, ignore lists heeded, in path order.
    fn walk(&self, below: &Path) -> Walked;
}

/// What lies below a folder.
#[derive(Debug, Clone, Default)]
pub struct Walked {
    /// All that is no folder; a link to a file among it, and what is no file at all.
    pub files: Vec<PathBuf>,
    /// Folders that were not looked into, and why; links to folders are not followed.
    pub refused: Vec<HostError>,
}

/// This program's folder among the user's folders for what may be lost; `None` where there is no such folder.
pub fn user_folder() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    Some(etcetera::choose_base_strategy().ok()?.cache_dir().join("leadsman"))
}

/// The disk of this machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl Host for Disk {
    fn read(&self, path: &Path) -> Result<Vec<u8>, HostError> {
        let failed = |error: io::Error| HostError::new(path, error);
        let no_file = || failed(io::Error::new(io::ErrorKind::InvalidInput, "is not a regular file"));
        let too_large = || {
            let limit = MAX_BYTES / (1024 * 1024);
            failed(io::Error::new(io::ErrorKind::FileTooLarge, format!("is larger than {limit} MiB")))
        };
        // Looked at before it is opened, since opening a pipe would wait for a writer.
        let metadata = std::fs::metadata(path).map_err(failed)?;
        if !metadata.is_file() {
            return Err(no_file());
        }
        if metadata.len() > MAX_BYTES {
            return Err(too_large());
        }
        let file = File::open(path).map_err(failed)?;
        if !file.metadata().map_err(failed)?.is_file() {
            return Err(no_file());
        }
        // It may grow, or be no honest file, while it is read.
        let mut bytes = Vec::with_capacity(usize::try_from(metadata.len()).unwrap_or_default());
        file.take(MAX_BYTES + 1).read_to_end(&mut bytes).map_err(failed)?;
        if bytes.len() as u64 > MAX_BYTES { Err(too_large()) } else { Ok(bytes) }
    }

    fn is_file(&self, path: &Path) -> bool {
        path.is_file()
    }

    fn exists(&self, path: &Path) -> bool {
        path.symlink_metadata().is_ok()
    }

    fn canonical(&self, path: &Path) -> Result<PathBuf, HostError> {
        std::fs::canonicalize(path).map_err(|error| HostError::new(path, error))
    }

    fn is_link(&self, path: &Path) -> bool {
        path.symlink_metadata().is_ok_and(|metadata| metadata.is_symlink())
    }

    fn walk(&self, below: &Path) -> Walked {
        let walk = WalkBuilder::new(below)
            // What one person ignores everywhere, or in searches, says nothing about the archive.
            .git_global(false)
            .ignore(false)
            .require_git(false)
            .follow_links(false)
            .sort_by_file_path(Path::cmp)
            .build();
        let mut walked = Walked::default();
        for entry in walk {
            match entry {
                Ok(entry) => {
                    let kind = entry.file_type();
                    if kind.is_some_and(|kind| kind.is_symlink()) && entry.path().is_dir() {
                        let link =
                            io::Error::new(io::ErrorKind::Unsupported, "is a link to a folder, which is not followed");
                        walked.refused.push(HostError::new(entry.path(), link));
                    } else if kind.is_none_or(|kind| !kind.is_dir()) {
                        walked.files.push(entry.into_path());
                    }
                }
                Err(error) => walked.refused.extend(refused(below, error)),
            }
        }
        walked
    }
}

/// Why a folder can't be looked into; `None` where the error is of no folder: an ignore list that does not read.
fn refused(below: &Path, error: ignore::Error) -> Option<HostError> {
    match error {
        ignore::Error::WithPath { path, err } => Some(HostError::new(&path, err.into_io_error()?)),
        ignore::Error::WithDepth { err, .. } => refused(below, *err),
        other => Some(HostError::new(below, other.into_io_error()?)),
    }
}

/// Files held in memory, for tests and for texts that come from elsewhere than the disk.
#[derive(Debug, Clone, Default)]
pub struct Memory {
    files: BTreeMap<PathBuf, Arc<[u8]>>,
}

impl Memory {
    /// No files.
    pub fn new() -> Memory {
        Memory::default()
    }

    /// These files and one more. Its path must be absolute.
    #[must_use]
    pub fn file(mut self, path: impl Into<PathBuf>, bytes: impl AsRef<[u8]>) -> Memory {
        self.files.insert(path.into(), Arc::from(bytes.as_ref()));
        self
    }

    fn holds(&self, path: &Path) -> bool {
        self.files.contains_key(path) || self.files.keys().any(|file| file.starts_with(path))
    }
}

impl Host for Memory {
    fn read(&self, path: &Path) -> Result<Vec<u8>, HostError> {
        match self.files.get(path) {
            Some(bytes) if bytes.len() as u64 > MAX_BYTES => {
                Err(HostError::new(path, io::Error::from(io::ErrorKind::FileTooLarge)))
            }
            Some(bytes) => Ok(bytes.to_vec()),
            None => Err(HostError::new(path, io::Error::from(io::ErrorKind::NotFound))),
        }
    }

    fn is_file(&self, path: &Path) -> bool {
        self.files.contains_key(path)
    }

    fn exists(&self, path: &Path) -> bool {
        self.holds(path)
    }

    fn canonical(&self, path: &Path) -> Result<PathBuf, HostError> {
        let path = lexical(path);
        if self.holds(&path) { Ok(path) } else { Err(HostError::new(&path, io::Error::from(io::ErrorKind::NotFound))) }
    }

    fn walk(&self, below: &Path) -> Walked {
        let files = self.files.keys().filter(|path| path.starts_with(below)).cloned().collect();
        Walked { files, refused: Vec::new() }
    }
}

/// A path with `.` and `..` taken out by its letters alone.
pub(in crate::archive) fn lexical(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                // Above the top there is nothing but the top.
                plain.pop();
            }
            other => plain.push(other),
        }
    }
    plain
}
