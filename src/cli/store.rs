//! Writing a file whose text has changed: all of it or nothing, and never over someone else's change.

use std::collections::BTreeSet;
use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::archive::{Archive, Unfinished, tidy};
use crate::source::FileId;

/// Why a file was not written.
#[derive(Debug, thiserror::Error)]
pub(super) enum Refused {
    /// Its path leads out of the archive.
    #[error("it leads out of the archive's root")]
    Outside,
    /// It may only be read.
    #[error("it may only be read")]
    ReadOnly,
    /// It goes by other names as well, which would keep the old text.
    #[error("it is one file of several names (hard links), and would be of them no more")]
    Linked,
    /// It has something that a new file in its place would lack.
    #[error("its access list or attributes can't be kept: {0}")]
    Attributes(io::Error),
    /// A file of that name is there.
    #[error("is there already")]
    There,
    /// Somebody else changed it since it was read.
    #[error("it was changed by someone else meanwhile")]
    Changed,
    /// The system refused.
    #[error("it could not be written: {0}")]
    Io(#[from] io::Error),
}

/// Takes away what runs that were killed have left beside some files.
pub(super) fn tidy_beside(archive: &Archive, files: &[FileId]) {
    let folders: BTreeSet<PathBuf> =
        files.iter().filter_map(|file| Some(archive.path_of(file).parent()?.to_owned())).collect();
    folders.iter().for_each(|folder| tidy(folder));
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
    let new = Unfinished::begin(folder)?;
    new.as_file().write_all(text.as_bytes())?;
    keep(&new, &target, &metadata)?;
    new.as_file().sync_all()?;
    still(path, root, &target, before)?;
    Ok(new.put(&target)?)
}

/// Writes a file that is not there yet, in a folder that is.
pub(super) fn create(path: &Path, root: &Path, text: &str) -> Result<(), Refused> {
    let folder = target_of(path.parent().unwrap_or(Path::new("/")), root)?;
    let name = path.file_name().ok_or(Refused::Outside)?;
    let new = Unfinished::begin(&folder)?;
    new.as_file().write_all(text.as_bytes())?;
    as_others_are(new.as_file())?;
    new.as_file().sync_all()?;
    new.put_new(&folder.join(name)).map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => Refused::There,
        _ => Refused::Io(error),
    })
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

/// Gives a new file what the old one of a path has beside its text.
#[cfg(unix)]
fn keep(new: &Unfinished, path: &Path, old: &Metadata) -> Result<(), Refused> {
    use std::os::unix::fs::{MetadataExt, fchown};
    let new = new.as_file();
    let own = new.metadata()?;
    if old.nlink() > 1 {
        return Err(Refused::Linked);
    }
    if (own.uid(), own.gid()) != (old.uid(), old.gid()) {
        fchown(new, Some(old.uid()), Some(old.gid()))?;
    }
    // After the owner, whose change may clear bits of the mode; access lists after the mode, which they hold as well.
    new.set_permissions(old.permissions())?;
    attributes(new, path).map_err(Refused::Attributes)
}

/// Gives a new file the extended attributes of the old one, access lists among them, and no others.
#[cfg(unix)]
fn attributes(new: &File, path: &Path) -> io::Result<()> {
    use xattr::FileExt;
    let old = match xattr::list(path) {
        Ok(old) => old,
        // Where a file system has none, there is none to keep.
        Err(error) if error.kind() == io::ErrorKind::Unsupported => return Ok(()),
        Err(error) => return Err(error),
    };
    let old: Vec<_> = old.collect();
    for name in &old {
        let value = xattr::get(path, name)?;
        if let Some(value) = value.filter(|value| new.get_xattr(name).ok().flatten().as_ref() != Some(value)) {
            new.set_xattr(name, &value)?;
        }
    }
    // A folder may give what is made in it an access list of its own.
    let more: Vec<_> = new.list_xattr()?.filter(|name| !old.contains(name)).collect();
    more.iter().try_for_each(|name| new.remove_xattr(name))
}

#[cfg(not(unix))]
fn keep(new: &Unfinished, _: &Path, old: &Metadata) -> Result<(), Refused> {
    Ok(new.as_file().set_permissions(old.permissions())?)
}

/// Gives a file that only its owner may read the mode that any new file has here.
#[cfg(unix)]
fn as_others_are(new: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    // What is masked out for this process is told by a file that was made as others are.
    let other = tempfile::Builder::new().permissions(fs::Permissions::from_mode(0o666)).tempfile()?;
    new.set_permissions(other.as_file().metadata()?.permissions())
}

#[cfg(not(unix))]
fn as_others_are(_: &File) -> io::Result<()> {
    Ok(())
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
