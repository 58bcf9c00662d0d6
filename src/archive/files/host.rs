//! The one door to the outside: all reading of disk goes through [`Host`].

use std::collections::BTreeMap;
use std::fmt;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use serde::Serialize;

use super::stamp::Stamp;

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

impl HostError {
    /// Why, as the end of a sentence about the file.
    pub(crate) fn why(&self) -> String {
        let said = self.source.to_string();
        // What is found wrong here is said of the file, by what it does; a system says its own words.
        if self.source.get_ref().is_some() {
            return format!("it {said}");
        }
        let words = said.split(" (os error").next().unwrap_or_default();
        let mut letters = words.chars();
        letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
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
    /// What tells, without opening a file, whether somebody has written to it since; `None` for a link, and where nothing tells.
    fn stamp(&self, _: &Path) -> Option<Stamp> {
        None
    }
    /// What a link says that it leads to, as it is written; `None` for what is no link.
    fn link_text(&self, _: &Path) -> Option<Vec<u8>> {
        None
    }
    /// What lies below a folder of an archive's root, in path order. Ignore lists of the repository are heeded, but for what
    /// it tracks.
    fn walk(&self, below: &Path, root: &Path) -> Walked;
}

/// What lies below a folder.
#[derive(Debug, Clone, Default)]
pub struct Walked {
    /// All that is no folder; a link to a file among it, and what is no file at all.
    pub files: Vec<PathBuf>,
    /// Those of them that are links.
    pub links: Vec<PathBuf>,
    /// Folders that were not looked into, and why; links to folders are not followed.
    pub refused: Vec<HostError>,
    /// Plans, kit and house files that are left out, and why.
    pub left_out: Vec<(PathBuf, LeftOut)>,
    /// Folders that are left out and have so much in them that nobody looked for plans there.
    pub unseen: usize,
}

/// Why a file is left out of a check that it might be meant for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeftOut {
    /// An ignore list of the repository names it, and version control does not track it.
    Ignored,
    /// It, or a folder that it lies in, is hidden, and version control does not track it.
    Hidden,
    /// Its name is of another letter case than the names of plans, kit and house files.
    OtherCase,
    /// A root file leaves it out (`exclude`).
    Excluded,
}

impl LeftOut {
    /// Every reason.
    pub const ALL: [LeftOut; 4] = [LeftOut::Ignored, LeftOut::Hidden, LeftOut::OtherCase, LeftOut::Excluded];

    /// Why, as a sentence says it of one or several.
    pub const fn words(self) -> &'static str {
        match self {
            LeftOut::Ignored => "ignored",
            LeftOut::Hidden => "hidden",
            LeftOut::OtherCase => "named in another letter case",
            LeftOut::Excluded => "excluded",
        }
    }
}

/// This program's folder among the user's folders for what may be lost; `None` where there is no such folder.
pub(crate) fn user_folder() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    Some(etcetera::choose_base_strategy().ok()?.cache_dir().join("leadsman"))
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

    fn walk(&self, below: &Path, _: &Path) -> Walked {
        let files = self.files.keys().filter(|path| path.starts_with(below)).cloned().collect();
        Walked { files, ..Walked::default() }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn why_is_the_end_of_a_sentence() {
        let why = |source: io::Error| HostError::new(Path::new("a"), source).why();
        assert_eq!(why(io::Error::from_raw_os_error(13)), "permission denied");
        assert_eq!(
            why(io::Error::new(io::ErrorKind::Unsupported, "is a link to a folder")),
            "it is a link to a folder"
        );
        assert_eq!(why(io::ErrorKind::NotFound.into()), "entity not found");
    }
}
