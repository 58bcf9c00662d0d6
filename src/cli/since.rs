//! What a change touches: the files that read otherwise than at a revision, and all whose findings rest on them.
//!
//! Git is asked for the names and contents of the revision alone. What the files now hold is hashed here, so that git opens
//! none of them.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::Path;

use sha1::{Digest, Sha1};
use sha2::Sha256;

use crate::archive::git::{self, wrong};
use crate::archive::{Archive, Change};
use crate::findings::ACCEPTED;
use crate::source::{FileId, Text};
use crate::words::FileKind;

/// A file at a revision.
#[derive(Debug)]
struct Then {
    /// Its object's id, in hexadecimal digits.
    id: String,
    /// Whether it is a link: its object holds what it leads to.
    is_link: bool,
}

/// The files of an archive that a change since a revision touches: those that read otherwise, and those whose findings rest
/// on them now or did then.
///
/// # Errors
/// What git says: no repository, no such revision, no git, an object that a partial clone has not fetched.
pub(super) fn touched(archive: &Archive, revision: &str) -> io::Result<BTreeSet<FileId>> {
    let root = archive.root();
    let then = tree(root, revision)?;
    let mut now: BTreeSet<FileId> = archive.walk(&[]).into_iter().collect();
    now.extend(Some(Archive::accepted_file()).filter(|file| archive.holds(file)));
    let reads_otherwise = |file: &&FileId| then.get(*file).is_none_or(|then| !is_same(archive, file, then));
    let mut changed: BTreeSet<FileId> = now.iter().filter(reads_otherwise).cloned().collect();
    changed.extend(then.keys().filter(|file| !archive.holds(file)).cloned());
    // A link reads otherwise where what it leads to does.
    let links = now.iter().filter(|file| then.get(*file).is_some_and(|then| then.is_link));
    let led: Vec<FileId> =
        links.filter(|file| archive.leads_to(file).is_some_and(|to| changed.contains(&to))).cloned().collect();
    changed.extend(led);
    let old: Vec<(&FileId, &Then)> =
        changed.iter().filter_map(|file| Some((file, then.get(file).filter(|then| !then.is_link)?))).collect();
    let texts = contents(root, &old.iter().map(|(file, then)| (file.as_str(), &*then.id)).collect::<Vec<_>>(), None)?;
    let before =
        |((file, _), bytes): (&(&FileId, &Then), &Vec<u8>)| Change::Open((*file).clone(), Text::from_bytes(bytes));
    let changes: Vec<Change> = old.iter().zip(&texts).map(before).collect();
    let before = archive.with(&changes);
    Ok(changed.iter().flat_map(|file| archive.dependants(file).into_iter().chain(before.dependants(file))).collect())
}

/// Whether a file reads as it did; line ends that a check-out writes in another way are no difference.
fn is_same(archive: &Archive, file: &FileId, then: &Then) -> bool {
    if then.is_link {
        let leads = archive.link_text(file);
        return leads.is_some_and(|leads| id_of(&leads, then.id.len()) == then.id);
    }
    let Ok(bytes) = archive.bytes(file) else { return false };
    id_of(&bytes, then.id.len()) == then.id
        || (bytes.contains(&b'\r') && id_of(&without_carriage_returns(&bytes), then.id.len()) == then.id)
}

fn without_carriage_returns(bytes: &[u8]) -> Vec<u8> {
    let next = bytes.iter().skip(1).map(Some).chain([None]);
    let kept = bytes.iter().zip(next).filter(|(byte, next)| **byte != b'\r' || *next != Some(&b'\n'));
    kept.map(|(byte, _)| *byte).collect()
}

/// The id that git gives contents, in so many hexadecimal digits: SHA-1, or SHA-256 where the repository goes by that.
fn id_of(bytes: &[u8], digits: usize) -> String {
    let head = format!("blob {}\0", bytes.len());
    let hex = |digest: &[u8]| digest.iter().map(|byte| format!("{byte:02x}")).collect();
    match digits {
        64 => hex(&Sha256::new_with_prefix(head).chain_update(bytes).finalize()),
        _ => hex(&Sha1::new_with_prefix(head).chain_update(bytes).finalize()),
    }
}

/// The plans, kit and house files below a folder at a revision; none on a branch that nothing was committed to yet.
fn tree(root: &Path, revision: &str) -> io::Result<BTreeMap<FileId, Then>> {
    // What git would take for an option of its own is no revision.
    if revision.starts_with('-') || revision.is_empty() {
        return Err(wrong(format!("{revision:?} is no revision")));
    }
    if revision == "HEAD"
        && git::run(root, &["rev-parse", "--quiet", "--verify", "HEAD^{commit}"], &[], None).is_err()
        && git::run(root, &["symbolic-ref", "--quiet", "HEAD"], &[], None).is_ok()
    {
        return Ok(BTreeMap::new());
    }
    let said = git::run(root, &["ls-tree", "-r", "-z", revision, "--", "."], &[], None)?;
    let entries = said.split(|byte| *byte == 0).filter_map(|entry| std::str::from_utf8(entry).ok());
    let file = |entry: &str| {
        let (about, path) = entry.split_once('\t')?;
        let mut about = about.split(' ');
        let (mode, kind, id) = (about.next()?, about.next()?, about.next()?);
        let then = Then { id: id.to_owned(), is_link: mode == "120000" };
        (kind == "blob" && is_ours(path)).then(|| (FileId::new(path), then))
    };
    Ok(entries.filter_map(file).collect())
}

/// Whether a check may rest on a file of that path.
pub(super) fn is_ours(path: &str) -> bool {
    path.rsplit('/').next().is_some_and(|name| FileKind::of_name(name).is_some()) || path.ends_with(ACCEPTED)
}

/// What objects hold, in their order; each is asked for by the name of its file and its id.
pub(super) fn contents(root: &Path, objects: &[(&str, &str)], index: Option<&Path>) -> io::Result<Vec<Vec<u8>>> {
    if objects.is_empty() {
        return Ok(Vec::new());
    }
    let asked: String = objects.iter().map(|(_, id)| format!("{id}\n")).collect();
    let said = git::run(root, &["cat-file", "--batch"], asked.as_bytes(), index)?;
    let (mut rest, mut all) = (&said[..], Vec::new());
    for (file, id) in objects {
        let cut = || wrong("git's answer breaks off".to_owned());
        let end = rest.iter().position(|byte| *byte == b'\n').ok_or_else(cut)?;
        let (head, body) = (String::from_utf8_lossy(rest.get(..end).unwrap_or_default()), end + 1);
        if head.ends_with(" missing") {
            return Err(wrong(format!("git: the object {id} of {file} is not there (a partial clone?)")));
        }
        let length: usize = head.rsplit(' ').next().and_then(|length| length.parse().ok()).ok_or_else(cut)?;
        all.push(rest.get(body..body + length).ok_or_else(cut)?.to_vec());
        rest = rest.get(body + length + 1..).unwrap_or_default();
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of an empty file: git's documented ids (gitformat-pack and the hash-function-transition page), from memory; `git
    /// hash-object` says the same.
    #[test]
    fn ids_are_git_s_own() {
        assert_eq!(id_of(b"", 40), "e69de29bb2d1d6434b8b29ae775ad8c2e48c5391");
        assert_eq!(id_of(b"", 64), "473a0f4c3be8a93681a267e3b1e9a7dcda1185436fe141f7749120a303721813");
        assert_eq!(without_carriage_returns(b"a\r\nb\rc\r\n\r"), b"a\nb\rc\n\r");
    }
}
