//! The files that a command's paths mean, in the archives they belong to.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::archive::{Archive, Change, Disk, Host, HostError, LeftOut, MAX_BYTES, Memory};
use crate::source::{FileId, Text};

/// An archive and the files of it that are meant, in path order.
#[derive(Debug)]
pub(super) struct Meant {
    /// The archive.
    pub archive: Archive,
    /// The files.
    pub files: Vec<FileId>,
    /// What lies beside them and is not read, by a name to show, and why.
    pub refused: Vec<(FileId, HostError)>,
    /// What lies beside them and is left out, by a name to show, and why.
    pub left_out: Vec<(FileId, LeftOut)>,
}

/// What some paths mean.
#[derive(Debug, Default)]
pub(super) struct Paths {
    /// The archives with their files, by their roots.
    pub meant: Vec<Meant>,
    /// The paths that mean nothing, and why.
    pub failed: Vec<HostError>,
    /// Paths that are left out of checks.
    pub excluded: Vec<PathBuf>,
}

impl Paths {
    /// What paths mean to someone who stands in the folder `here`.
    pub(super) fn find(here: &Path, paths: &[PathBuf]) -> Paths {
        Paths::find_in(&(Arc::new(Disk) as Arc<dyn Host>), here, paths, readable)
    }

    /// What paths mean among the files that are staged.
    pub(super) fn find_staged(host: Memory, here: &Path, paths: &[PathBuf]) -> Paths {
        let host: Arc<dyn Host> = Arc::new(host);
        let there_is = |path: &Path| match host.exists(path) {
            true => Ok(()),
            false => Err(io::Error::new(io::ErrorKind::NotFound, "nothing of that name is staged")),
        };
        Paths::find_in(&host, here, paths, there_is)
    }

    fn find_in(
        host: &Arc<dyn Host>,
        here: &Path,
        paths: &[PathBuf],
        readable: impl Fn(&Path) -> io::Result<()>,
    ) -> Paths {
        let mut found = Paths::default();
        let mut roots: BTreeMap<PathBuf, Vec<PathBuf>> = BTreeMap::new();
        for path in paths {
            let full = here.join(path);
            match readable(&full) {
                Ok(()) => roots.entry(Archive::root_of(&**host, &full)).or_default().push(full),
                Err(error) => found.failed.push(HostError::new(path, error)),
            }
        }
        let mut seen: BTreeSet<PathBuf> = BTreeSet::new();
        for (root, paths) in roots {
            let archive = Archive::open(host.clone(), &root);
            let mut files = BTreeSet::new();
            for path in &paths {
                let below = archive.walk(&[path]);
                if below.is_empty() && archive.id_of(path).is_some_and(|id| archive.is_excluded(&id)) {
                    found.excluded.push(path.strip_prefix(here).unwrap_or(path).to_owned());
                } else if below.is_empty() {
                    let shown = path.strip_prefix(here).unwrap_or(path);
                    let shown = if shown.as_os_str().is_empty() { Path::new(".") } else { shown };
                    let nothing = io::Error::new(io::ErrorKind::NotFound, nothing(path));
                    found.failed.push(HostError::new(shown, nothing));
                }
                files.extend(below);
            }
            // A folder of one archive may hold another whose files were named as well.
            let files: Vec<FileId> = files.into_iter().filter(|file| seen.insert(archive.path_of(file))).collect();
            let below: Vec<&Path> = paths.iter().map(PathBuf::as_path).collect();
            let refused = archive.refused(&below);
            if !files.is_empty() || !refused.is_empty() {
                let left_out = archive.left_out(&below);
                found.meant.push(Meant { archive, files, refused, left_out });
            }
        }
        found
    }

    /// A text that is on no disk, or not yet, under the name it goes by.
    pub(super) fn unsaved(here: &Path, name: &Path, bytes: &[u8]) -> Paths {
        let full = here.join(name);
        let archive = Archive::open(Arc::new(Disk), &Archive::root_of(&Disk, &full));
        let mut found = Paths::default();
        match archive.id_of(&full) {
            Some(file) => {
                let archive = archive.with(&[Change::Open(file.clone(), Text::from_bytes(bytes))]);
                found.meant.push(Meant { archive, files: vec![file], refused: Vec::new(), left_out: Vec::new() });
            }
            None => {
                let why = "no file of an archive can have this name: it is not Unicode";
                found.failed.push(HostError::new(name, io::Error::new(io::ErrorKind::InvalidInput, why)));
            }
        }
        found
    }
}

/// What stands on standard input, as long as a file may be.
pub(super) fn standard_input() -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    io::stdin().lock().take(MAX_BYTES + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > MAX_BYTES {
        let limit = MAX_BYTES / (1024 * 1024);
        let message = format!("standard input is larger than {limit} MiB");
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, message));
    }
    Ok(bytes)
}

fn nothing(path: &Path) -> &'static str {
    if path.is_dir() {
        "holds no plan, kit or house file (*.plan.kdl, *.kit.kdl, leadsman.kdl) that is not ignored"
    } else {
        "has a name that is not Unicode, or leads out of its archive"
    }
}

/// Whether a path is a file or a folder that can be looked into.
fn readable(path: &Path) -> io::Result<()> {
    let kind = std::fs::metadata(path)?;
    if kind.is_dir() {
        std::fs::read_dir(path).map(|_| ())
    } else if kind.is_file() {
        Ok(())
    } else {
        Err(io::Error::new(io::ErrorKind::InvalidInput, "is neither a file nor a folder"))
    }
}
