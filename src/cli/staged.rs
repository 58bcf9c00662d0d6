//! What is staged for the next commit, as files of their own: what lies in the folder takes no part.

use std::collections::BTreeMap;
use std::env;
use std::io;
use std::path::{Path, PathBuf};

use super::since::{contents, is_ours};
use crate::archive::Memory;
use crate::archive::git::{self, wrong};

/// The plans, kit and house files that the index of the repository around a folder holds, at the places where they lie.
///
/// The index is the one that git says it commits from: another than the repository's own while some files alone are
/// committed.
///
/// # Errors
/// What git says; a merge that is not settled.
pub(super) fn staged(here: &Path) -> io::Result<Memory> {
    let top = git::top(here).ok_or_else(|| wrong(format!("{}: is in no repository", here.display())))?;
    let index = env::var_os("GIT_INDEX_FILE").map(|index| here.join(PathBuf::from(index)));
    let index = index.as_deref();
    let said = git::run(top, &["ls-files", "-z", "--stage", "--", "."], &[], index)?;
    let mut files: BTreeMap<String, (String, bool)> = BTreeMap::new();
    for entry in said.split(|byte| *byte == 0).filter_map(|entry| std::str::from_utf8(entry).ok()) {
        let Some((about, path)) = entry.split_once('\t') else { continue };
        let [mode, id, stage] = about.split(' ').collect::<Vec<_>>()[..] else { continue };
        if !is_ours(path) {
            continue;
        }
        if stage != "0" {
            return Err(wrong(format!("{path}: is in a merge that is not settled yet")));
        }
        // What is a repository of its own holds no file of this one.
        if mode != "160000" {
            files.insert(path.to_owned(), (id.to_owned(), mode == "120000"));
        }
    }
    let objects: Vec<(&str, &str)> = files.iter().map(|(path, (id, _))| (&**path, &**id)).collect();
    let held = contents(top, &objects, index)?;
    let held: BTreeMap<&str, Vec<u8>> = files.keys().map(String::as_str).zip(held).collect();
    // The mark of the repository, by which an archive without a root file finds its root.
    let mut memory = Memory::new().file(top.join(".git/HEAD"), b"");
    for (path, bytes) in &held {
        let is_link = files.get(*path).is_some_and(|(_, is_link)| *is_link);
        let bytes = if is_link { led_to(path, bytes, &held) } else { Some(bytes) };
        if let Some(bytes) = bytes {
            memory = memory.file(top.join(path), bytes);
        }
    }
    Ok(memory)
}

/// What a link holds: the staged file that it leads to, if it leads to one.
fn led_to<'h>(path: &str, link: &[u8], held: &'h BTreeMap<&str, Vec<u8>>) -> Option<&'h Vec<u8>> {
    let folder = Path::new(path).parent()?;
    let mut parts: Vec<&str> = folder.components().filter_map(|part| part.as_os_str().to_str()).collect();
    for part in std::str::from_utf8(link).ok()?.split('/') {
        match part {
            "" | "." => {}
            ".." => drop(parts.pop()?),
            part => parts.push(part),
        }
    }
    held.get(&*parts.join("/"))
}
