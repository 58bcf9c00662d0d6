//! What tells, without opening it, a file that nobody has written to from one that somebody has.

use std::fs::Metadata;

use serde::{Deserialize, Serialize};

/// What the system says of a file that was left alone: size, place on the disk, and when its content and its entry last
/// changed, the second of which nobody can set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    size: u64,
    device: u64,
    inode: u64,
    modified: (i64, i64),
    changed: (i64, i64),
}

impl Stamp {
    /// Of a regular file that was left alone for longer than a clock of a file system takes to tick: one that was just
    /// written to might be written to again within the same tick, and bear the same stamp with another text. `None` for
    /// such a file, for all that is no regular file, and where the system tells nothing of the kind.
    #[cfg(unix)]
    pub fn of(metadata: &Metadata) -> Option<Stamp> {
        use std::os::unix::fs::MetadataExt;
        use std::time::{Duration, SystemTime, UNIX_EPOCH};

        /// The longest tick of a file system in use, and as much again.
        const TICK: Duration = Duration::from_secs(4);

        let left_alone = SystemTime::now().checked_sub(TICK)?.duration_since(UNIX_EPOCH).ok()?;
        let left_alone = i64::try_from(left_alone.as_secs()).ok()?;
        let is_old = metadata.mtime() < left_alone && metadata.ctime() < left_alone;
        (is_old && metadata.is_file()).then(|| Stamp {
            size: metadata.size(),
            device: metadata.dev(),
            inode: metadata.ino(),
            modified: (metadata.mtime(), metadata.mtime_nsec()),
            changed: (metadata.ctime(), metadata.ctime_nsec()),
        })
    }

    /// No system but a Unix tells when a file's entry changed.
    #[cfg(not(unix))]
    pub fn of(_: &Metadata) -> Option<Stamp> {
        None
    }

    /// A made one, of a file of so many bytes that was written at a moment.
    #[cfg(test)]
    pub(crate) fn made(size: u64, at: i64) -> Stamp {
        Stamp { size, device: 1, inode: 1, modified: (at, 0), changed: (at, 0) }
    }

    /// Bytes of the file.
    pub fn size(&self) -> u64 {
        self.size
    }
}

#[cfg(all(test, unix))]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::path::Path;

    fn of(path: &Path) -> Option<Stamp> {
        Stamp::of(&path.symlink_metadata().unwrap())
    }

    #[test]
    fn only_a_file_that_was_left_alone_bears_one() {
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (folder.path().join("a"), folder.path().join("b"));
        std::fs::write(&file, "text").unwrap();
        assert_eq!(of(&file), None, "it was just written");
        // Its times can be set, but for that at which they were set.
        std::fs::File::open(&file).unwrap().set_modified(std::time::UNIX_EPOCH).unwrap();
        assert_eq!(of(&file), None);
        let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
        let stamp = of(&old).unwrap();
        assert_eq!((stamp.size(), Some(stamp)), (old.metadata().unwrap().len(), of(&old)));
        std::os::unix::fs::symlink(&old, &link).unwrap();
        assert_eq!((of(&link), of(old.parent().unwrap())), (None, None));
    }
}
