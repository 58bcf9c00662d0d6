//! Which files an archive holds, below given paths.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::Path;
use std::sync::Arc;

use super::path::{folder_of, is_below, resolve};
use super::summary::named_kind;
use super::{HostError, LeftOut};
use crate::archive::Archive;
use crate::source::{FileId, Placed};
use crate::words::FileKind;

/// What lies below a folder.
#[derive(Debug, Default)]
pub(in crate::archive) struct Below {
    /// In the order of ids.
    pub files: Vec<FileId>,
    /// Those of them that are links to another of them, with that one: they are no plans and no kit of their own.
    pub links: BTreeMap<FileId, FileId>,
    /// What is not read, by a name to show, and why.
    pub refused: Vec<(FileId, HostError)>,
    /// What is left out, by a name to show, and why.
    pub left_out: Vec<(FileId, LeftOut)>,
}

impl Archive {
    /// Every plan, kit and house file below the given paths (the root if there are none), in path order; version
    /// control's ignore lists are heeded. A file that is itself given is among them whatever its name and whether
    /// ignored or not, unless a root file leaves it out (`exclude`).
    pub fn walk(&self, below: &[&Path]) -> Vec<FileId> {
        let mut all = self.walked(below);
        all.retain(|file| !self.is_excluded(file));
        all.into_iter().collect()
    }

    /// Whether a root file leaves a file or folder out of checks (`exclude`).
    pub(crate) fn is_excluded(&self, file: &FileId) -> bool {
        let excluded = self.inner.excluded.get_or_init(|| {
            let files = self.on_disk().files.iter().chain(self.inner.open.keys());
            let houses = files.filter(|file| named_kind(file) == Some(FileKind::House));
            let said = houses.filter_map(|house| Some((house, self.word(house)?)));
            let paths = said.flat_map(|(house, word)| {
                let resolved = |said: &Placed<String>| {
                    let path = resolve(house, said.value.trim_end_matches('/'), folder_of(house.as_str()));
                    Some(path.ok()?.to_string())
                };
                word.house.excludes.iter().filter_map(resolved).collect::<Vec<_>>()
            });
            paths.collect()
        });
        excluded.iter().any(|path| file.as_str() == path || is_below(file.as_str(), path))
    }

    fn walked(&self, below: &[&Path]) -> BTreeSet<FileId> {
        if below.is_empty() {
            return self.on_disk().files.iter().chain(self.inner.open.keys()).cloned().collect();
        }
        let mut all = BTreeSet::new();
        for path in below {
            let id = self.id_of(path);
            let prefix = match &id {
                Some(id) if self.inner.open.contains_key(id) || self.inner.door.host.is_file(&self.path_of(id)) => {
                    all.insert(id.clone());
                    continue;
                }
                Some(id) => id.as_str(),
                None => match self.inner.door.host.canonical(path) {
                    Ok(path) if path == self.inner.door.root => "",
                    // Outside the root, and so nothing of this archive's.
                    _ => continue,
                },
            };
            let open = self.inner.open.keys().filter(|file| is_below(file.as_str(), prefix));
            all.extend(open.cloned());
            match prefix {
                "" => all.extend(self.on_disk().files.iter().cloned()),
                _ => all.extend(self.below(&self.inner.door.root.join(prefix)).files),
            }
        }
        all
    }

    /// What lies below the given paths (the root if there are none) and is not read, by a name to show, and why: folders that
    /// can't be looked into, links to folders, and plans and kit whose names are not Unicode.
    pub(crate) fn refused(&self, below: &[&Path]) -> Vec<(FileId, HostError)> {
        if below.is_empty() {
            return self.on_disk().refused.clone();
        }
        let folders = below.iter().filter(|path| !self.inner.door.host.is_file(path));
        folders.flat_map(|folder| self.below(folder).refused).collect()
    }

    /// The plans, kit and house files below the given paths (the root if there are none) that are left out of a check of
    /// them, and why, in path order. What is itself given is never left out but by a root file.
    pub fn left_out(&self, below: &[&Path]) -> Vec<(FileId, LeftOut)> {
        let asked = self.walked(below);
        let excluded = asked.iter().filter(|file| self.is_excluded(file)).map(|file| (file.clone(), LeftOut::Excluded));
        let mut all: BTreeSet<(FileId, LeftOut)> = excluded.collect();
        if below.is_empty() {
            all.extend(self.on_disk().left_out.iter().cloned());
        } else {
            let folders = below.iter().filter(|path| !self.inner.door.host.is_file(path));
            all.extend(folders.flat_map(|folder| self.below(folder).left_out));
        }
        all.retain(|(file, why)| *why == LeftOut::Excluded || !asked.contains(file));
        all.into_iter().collect()
    }

    /// The file that a link of the archive leads to, where that is another one of its files; else the file itself.
    pub(in crate::archive) fn led_to<'a>(&'a self, file: &'a FileId) -> &'a FileId {
        self.on_disk().links.get(file).unwrap_or(file)
    }

    pub(in crate::archive) fn on_disk(&self) -> &Below {
        self.inner.on_disk.get_or_init(|| Arc::new(self.below(&self.inner.door.root)))
    }

    fn below(&self, folder: &Path) -> Below {
        let walked = self.inner.door.host.walk(folder, &self.inner.door.root);
        let mut below = Below::default();
        let shown = |path: &Path| {
            let relative = path.strip_prefix(&self.inner.door.root).unwrap_or(path);
            FileId::new(relative.to_string_lossy().replace('\\', "/"))
        };
        for path in walked.files {
            match self.id_of(&path) {
                Some(id) if named_kind(&id).is_some() => below.files.push(id),
                Some(_) => {}
                None => {
                    let shown = shown(&path);
                    if named_kind(&shown).is_some() {
                        let unnamed = io::Error::new(io::ErrorKind::InvalidInput, "has a name that is not Unicode");
                        below.refused.push((shown, HostError::new(&path, unnamed)));
                    }
                }
            }
        }
        below.files.sort();
        let led = walked.links.iter().filter_map(|path| {
            let (link, to) = (self.id_of(path)?, self.id_of(&self.inner.door.host.canonical(path).ok()?)?);
            (link != to && below.files.binary_search(&link).is_ok() && below.files.binary_search(&to).is_ok())
                .then_some((link, to))
        });
        below.links = led.collect();
        let refused = walked.refused.into_iter().map(|error| (shown(Path::new(&error.path)), error));
        below.refused.extend(refused);
        below.left_out = walked.left_out.iter().map(|(path, why)| (shown(path), *why)).collect();
        below
    }
}
