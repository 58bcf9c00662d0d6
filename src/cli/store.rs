//! Writing a file whose text has changed: all of it or nothing, and never over someone else's change.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

/// Why a file was not written.
#[derive(Debug, thiserror::Error)]
pub(super) enum Refused {
    /// Its path leads out of the archive.
    #[error("it leads out of the archive's root")]
    Outside,
    /// It may only be read.
    #[error("it may only be read")]
    ReadOnly,
    /// Somebody else changed it since it was read.
    #[error("it was changed by someone else meanwhile")]
    Changed,
    /// The system refused.
    #[error("it could not be written: {0}")]
    Io(#[from] io::Error),
}

/// Puts `text` in the place of a file whose bytes have the hash `before`. The new file is written beside it, gets its
/// mode and owner, and takes its name only if the old one still is what was read. A link keeps leading to it.
pub(super) fn replace(path: &Path, root: &Path, before: blake3::Hash, text: &str) -> Result<(), Refused> {
    let target = target_of(path, root)?;
    let metadata = fs::metadata(&target)?;
    if metadata.permissions().readonly() {
        return Err(Refused::ReadOnly);
    }
    // Who may not write into the file may not put another in its place either, whatever the folder allows.
    match OpenOptions::new().write(true).open(&target) {
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => return Err(Refused::ReadOnly),
        opened => opened.map(drop)?,
    }
    let folder = target.parent().unwrap_or(Path::new("/"));
    let mut new = tempfile::Builder::new().prefix(".leadsman-").tempfile_in(folder)?;
    new.write_all(text.as_bytes())?;
    keep(new.as_file(), &metadata)?;
    new.as_file().sync_all()?;
    still(path, root, &target, before)?;
    put(new, &target)
}

/// Writes a file that is not there yet.
pub(super) fn create(path: &Path, text: &str) -> Result<(), Refused> {
    let mut file = File::create_new(path).map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => Refused::Changed,
        _ => Refused::Io(error),
    })?;
    file.write_all(text.as_bytes())?;
    Ok(file.sync_all()?)
}

/// The file that a path leads to in the end.
fn target_of(path: &Path, root: &Path) -> Result<PathBuf, Refused> {
    let target = fs::canonicalize(path)?;
    if target.starts_with(root) { Ok(target) } else { Err(Refused::Outside) }
}

/// Whether the path still leads to the same file, and that still holds what was read.
fn still(path: &Path, root: &Path, target: &Path, before: blake3::Hash) -> Result<(), Refused> {
    let same = target_of(path, root)? == *target && blake3::hash(&fs::read(target)?) == before;
    if same { Ok(()) } else { Err(Refused::Changed) }
}

fn put(new: NamedTempFile, target: &Path) -> Result<(), Refused> {
    new.persist(target).map(drop).map_err(|error| Refused::Io(error.error))
}

#[cfg(unix)]
fn keep(new: &File, old: &Metadata) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt, fchown};
    let own = new.metadata()?;
    if (own.uid(), own.gid()) != (old.uid(), old.gid()) {
        fchown(new, Some(old.uid()), Some(old.gid()))?;
    }
    // After the owner, whose change may clear bits of the mode.
    new.set_permissions(old.permissions())
}

#[cfg(not(unix))]
fn keep(new: &File, old: &Metadata) -> io::Result<()> {
    new.set_permissions(old.permissions())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn folder() -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().canonicalize().unwrap();
        (folder, root)
    }

    #[test]
    fn a_file_that_changed_meanwhile_is_left() {
        let (_folder, root) = folder();
        let path = root.join("a.plan.kdl");
        fs::write(&path, "someone else's").unwrap();
        let refused = replace(&path, &root, blake3::hash(b"what was read"), "mine");
        assert!(matches!(refused, Err(Refused::Changed)), "{refused:?}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "someone else's");
        assert_eq!(fs::read_dir(&root).unwrap().count(), 1, "nothing is left beside it");
    }

    #[test]
    fn a_file_that_may_only_be_read_is_left() {
        let (_folder, root) = folder();
        let path = root.join("a.plan.kdl");
        fs::write(&path, "old").unwrap();
        let mut permissions = fs::metadata(&path).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&path, permissions).unwrap();
        assert!(matches!(replace(&path, &root, blake3::hash(b"old"), "new"), Err(Refused::ReadOnly)));
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_out_of_the_root_is_not_written_through() {
        let (_inside, root) = folder();
        let (_other, outside) = self::folder();
        let target = outside.join("a.plan.kdl");
        fs::write(&target, "old").unwrap();
        let link = root.join("a.plan.kdl");
        std::os::unix::fs::symlink(&target, &link).unwrap();
        assert!(matches!(replace(&link, &root, blake3::hash(b"old"), "new"), Err(Refused::Outside)));
        assert_eq!(fs::read_to_string(&target).unwrap(), "old");
    }
}
