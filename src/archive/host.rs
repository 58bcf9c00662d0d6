//! The one door to the outside: all reading of disk goes through [`Host`].

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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

/// The outside world as an archive sees it.
pub trait Host: fmt::Debug + Send + Sync {
    /// All bytes of a file.
    ///
    /// # Errors
    /// Whatever the system says, and anything that is no regular file.
    fn read(&self, path: &Path) -> Result<Vec<u8>, HostError>;
    /// Whether there is a file.
    fn is_file(&self, path: &Path) -> bool;
    /// The path with links and `..` resolved.
    ///
    /// # Errors
    /// Whatever the system says.
    fn canonical(&self, path: &Path) -> Result<PathBuf, HostError>;
    /// Files below a folder, ignore lists heeded, in path order.
    fn walk(&self, below: &Path) -> Vec<PathBuf>;
}

/// The disk of this machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;
