//! The disk of this machine.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs::{DirEntry, File, FileType};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ignore::Match;
use ignore::gitignore::Gitignore;

use super::git;
use super::host::{Host, HostError, LeftOut, MAX_BYTES, Walked};
use super::stamp::Stamp;
use crate::words::FileKind;

/// The disk of this machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

/// So many entries of folders that are left out are looked through for plans, to name them. A club's archive has none;
/// what a build leaves behind may have millions.
const MOST_LEFT_OUT: usize = 20_000;

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

    fn stamp(&self, path: &Path) -> Option<Stamp> {
        Stamp::of(&path.symlink_metadata().ok()?)
    }

    fn link_text(&self, path: &Path) -> Option<Vec<u8>> {
        Some(std::fs::read_link(path).ok()?.as_os_str().as_encoded_bytes().to_vec())
    }

    fn walk(&self, below: &Path, root: &Path) -> Walked {
        // What lies above the repository, or above an archive that is in none, says nothing about it.
        let top = git::top(below).unwrap_or(if below.starts_with(root) { root } else { below });
        let mut walk = Walk { tracked: git::tracked(below), walked: Walked::default(), looked_through: 0 };
        let mut folder = Folder::default();
        for above in below.ancestors().take_while(|above| above.starts_with(top)).collect::<Vec<_>>().into_iter().rev()
        {
            folder = folder.within(above, above != top);
        }
        // A folder that is asked for by name is asked for, however it is called.
        folder.left_out = folder.left_out.filter(|why| *why != LeftOut::Hidden);
        walk.folder(below, folder);
        walk.walked
    }
}

/// What holds for what lies in a folder.
#[derive(Debug, Clone, Default)]
struct Folder {
    /// The ignore lists that hold in it, the nearest last.
    lists: Vec<Arc<Gitignore>>,
    /// Why all in it is left out that version control does not track.
    left_out: Option<LeftOut>,
}

impl Folder {
    /// What holds in a folder of this one; `judged` by its own name, too.
    fn within(&self, path: &Path, judged: bool) -> Folder {
        let mut inner = self.clone();
        if judged && inner.left_out.is_none() {
            inner.left_out = self.leaves_out(path, true);
        }
        let list = path.join(".gitignore");
        if list.is_file() {
            // A line of it that does not read says nothing.
            inner.lists.push(Arc::new(Gitignore::new(&list).0));
        }
        inner
    }

    /// Why something in this folder is left out by its name.
    fn leaves_out(&self, path: &Path, is_folder: bool) -> Option<LeftOut> {
        if self.left_out.is_some() {
            return self.left_out;
        }
        let ignored = self.lists.iter().rev().find_map(|list| match list.matched(path, is_folder) {
            Match::None => None,
            Match::Ignore(_) => Some(true),
            Match::Whitelist(_) => Some(false),
        });
        let hidden = path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
        match ignored {
            Some(true) => Some(LeftOut::Ignored),
            _ => hidden.then_some(LeftOut::Hidden),
        }
    }
}

struct Walk {
    tracked: BTreeSet<PathBuf>,
    walked: Walked,
    looked_through: usize,
}

impl Walk {
    /// Goes through all that lies below a folder, in path order. Nothing recurses: a path may be thousands of folders deep.
    fn folder(&mut self, path: &Path, folder: Folder) {
        let mut ahead = vec![(self.entries(path), folder)];
        while let Some((entries, folder)) = ahead.last_mut() {
            let Some((name, kind, path)) = entries.pop() else {
                ahead.pop();
                continue;
            };
            if name == ".git" {
                continue;
            }
            if kind.is_some_and(|kind| kind.is_dir()) {
                let inner = folder.within(&path, true);
                if self.is_worth_looking(&path, &inner) {
                    let entries = self.entries(&path);
                    ahead.push((entries, inner));
                }
                continue;
            }
            let folder = folder.clone();
            self.file(&folder, &name, kind, path);
        }
    }

    /// Whether a folder is looked into: one that is left out only as long as that takes no time, or for what is tracked.
    fn is_worth_looking(&mut self, path: &Path, folder: &Folder) -> bool {
        if folder.left_out.is_none() {
            return true;
        }
        let tracked = self.tracked.range(path.to_owned()..).next().is_some_and(|first| first.starts_with(path));
        if !tracked && self.looked_through > MOST_LEFT_OUT {
            self.walked.unseen += 1;
            return false;
        }
        true
    }

    fn entries(&mut self, path: &Path) -> Vec<(OsString, Option<FileType>, PathBuf)> {
        let listed: io::Result<Vec<DirEntry>> = std::fs::read_dir(path).and_then(Iterator::collect);
        let entries = match listed {
            Ok(entries) => entries,
            Err(error) => {
                self.walked.refused.push(HostError::new(path, error));
                return Vec::new();
            }
        };
        let parts = |entry: DirEntry| (entry.file_name(), entry.file_type().ok(), entry.path());
        let mut entries: Vec<_> = entries.into_iter().map(parts).collect();
        // Taken from the end.
        entries.sort_unstable_by(|(a, ..), (b, ..)| b.cmp(a));
        entries
    }

    fn file(&mut self, folder: &Folder, name: &OsString, kind: Option<FileType>, path: PathBuf) {
        if folder.left_out.is_some() {
            self.looked_through += 1;
        }
        let left_out = folder.leaves_out(&path, false).filter(|_| !self.tracked.contains(&path));
        if kind.is_some_and(|kind| kind.is_symlink()) && path.is_dir() {
            if left_out.is_none() {
                let link = io::Error::new(io::ErrorKind::Unsupported, "is a link to a folder, which is not followed");
                self.walked.refused.push(HostError::new(&path, link));
            }
            return;
        }
        let name = name.to_string_lossy();
        let is_ours = FileKind::of_name(&name).is_some();
        match left_out {
            Some(why) if is_ours => self.walked.left_out.push((path, why)),
            Some(_) => {}
            None if !is_ours && FileKind::of_name(&name.to_lowercase()).is_some() => {
                self.walked.left_out.push((path, LeftOut::OtherCase));
            }
            None => {
                if kind.is_some_and(|kind| kind.is_symlink()) {
                    self.walked.links.push(path.clone());
                }
                self.walked.files.push(path);
            }
        }
    }
}
