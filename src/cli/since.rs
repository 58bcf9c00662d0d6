//! What a change touches: the files that read otherwise than at a revision, and all whose findings rest on them.
//!
//! Git is asked for names and contents alone, through commands that run no hook, filter or helper of the repository's and
//! reach no network: `ls-tree`, `hash-object --no-filters`, `cat-file`.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};

use crate::archive::{Archive, Change};
use crate::findings::ACCEPTED;
use crate::source::{FileId, Text};
use crate::words::FileKind;

/// The files of an archive that a change since a revision touches: those that read otherwise, and those whose findings rest
/// on them now or did then.
///
/// # Errors
/// What git says: no repository, no such revision, no git.
pub fn touched(archive: &Archive, revision: &str) -> io::Result<BTreeSet<FileId>> {
    let root = archive.root();
    let then = tree(root, revision)?;
    let mut now = archive.walk(&[]);
    now.extend(Some(Archive::accepted_file()).filter(|file| archive.path_of(file).exists()));
    let known: Vec<&FileId> = now.iter().filter(|file| then.contains_key(*file)).collect();
    let ids = ids(archive, &known)?;
    let same: BTreeSet<&FileId> =
        known.into_iter().zip(&ids).filter(|(file, id)| then.get(*file) == Some(*id)).map(|(file, _)| file).collect();
    let gone = then.keys().filter(|file| !archive.path_of(file).exists());
    let changed: Vec<FileId> = now.iter().filter(|file| !same.contains(file)).chain(gone).cloned().collect();
    let old: Vec<(&FileId, &String)> = changed.iter().filter_map(|file| Some((file, then.get(file)?))).collect();
    let texts = contents(root, old.iter().map(|(_, id)| id.as_str()))?;
    let before =
        |((file, _), bytes): (&(&FileId, &String), &Vec<u8>)| Change::Open((*file).clone(), Text::from_bytes(bytes));
    let changes: Vec<Change> = old.iter().zip(&texts).map(before).collect();
    let before = archive.with(&changes);
    Ok(changed.iter().flat_map(|file| archive.dependants(file).into_iter().chain(before.dependants(file))).collect())
}

/// The ids of the plans, kit and house files below a folder at a revision.
fn tree(root: &Path, revision: &str) -> io::Result<BTreeMap<FileId, String>> {
    // What git would take for an option of its own is no revision.
    if revision.starts_with('-') || revision.is_empty() {
        return Err(wrong(format!("{revision:?} is no revision")));
    }
    let said = git(root, &["ls-tree", "-r", "-z", revision, "--", "."], &[])?;
    let entries = said.split(|byte| *byte == 0).filter_map(|entry| std::str::from_utf8(entry).ok());
    let file = |entry: &str| {
        let (about, path) = entry.split_once('\t')?;
        let (kind, id) = about.split_once(' ')?.1.split_once(' ')?;
        let named = FileKind::of_name(path.rsplit('/').next()?).is_some() || path == ACCEPTED;
        (kind == "blob" && named).then(|| (FileId::new(path), id.to_owned()))
    };
    Ok(entries.filter_map(file).collect())
}

/// The ids that git would give files as they read now, in their order.
fn ids(archive: &Archive, files: &[&FileId]) -> io::Result<Vec<String>> {
    if files.is_empty() {
        return Ok(Vec::new());
    }
    let mut paths = Vec::new();
    for file in files {
        // A path is a line to git: one with a line break in it is taken for changed.
        let path = if file.as_str().contains('\n') { "leadsman.kdl" } else { file.as_str() };
        paths.extend_from_slice(path.as_bytes());
        paths.push(b'\n');
    }
    let said = git(archive.root(), &["hash-object", "--no-filters", "--stdin-paths"], &paths)?;
    Ok(String::from_utf8_lossy(&said).lines().map(str::to_owned).collect())
}

/// What objects hold, in their order.
fn contents<'a>(root: &Path, ids: impl Iterator<Item = &'a str>) -> io::Result<Vec<Vec<u8>>> {
    let asked: String = ids.map(|id| format!("{id}\n")).collect();
    if asked.is_empty() {
        return Ok(Vec::new());
    }
    let said = git(root, &["cat-file", "--batch"], asked.as_bytes())?;
    let (mut rest, mut all) = (&said[..], Vec::new());
    while !rest.is_empty() {
        let cut = || wrong("git's answer breaks off".to_owned());
        let end = rest.iter().position(|byte| *byte == b'\n').ok_or_else(cut)?;
        let (head, body) = (String::from_utf8_lossy(rest.get(..end).unwrap_or_default()), end + 1);
        let length: usize = head.rsplit(' ').next().and_then(|length| length.parse().ok()).ok_or_else(cut)?;
        all.push(rest.get(body..body + length).ok_or_else(cut)?.to_vec());
        rest = rest.get(body + length + 1..).unwrap_or_default();
    }
    Ok(all)
}

fn git(root: &Path, args: &[&str], input: &[u8]) -> io::Result<Vec<u8>> {
    let mut command = Command::new("git");
    command.arg("-C").arg(root).args(["-c", "core.fsmonitor=false", "-c", "core.quotePath=false"]).args(args);
    // Nothing is fetched, asked or written meanwhile.
    command.env("GIT_NO_LAZY_FETCH", "1").env("GIT_TERMINAL_PROMPT", "0").env("GIT_OPTIONAL_LOCKS", "0");
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().map_err(|error| io::Error::new(error.kind(), format!("git: {error}")))?;
    let input = input.to_vec();
    let mut stdin = child.stdin.take();
    // Written beside the reading: neither waits for the other.
    let writer = std::thread::spawn(move || stdin.as_mut().map_or(Ok(()), |stdin| stdin.write_all(&input)));
    let mut said = Vec::new();
    if let Some(stdout) = &mut child.stdout {
        stdout.read_to_end(&mut said)?;
    }
    let done = child.wait_with_output()?;
    let written = writer.join().unwrap_or(Ok(()));
    if !done.status.success() {
        return Err(wrong(format!("git: {}", String::from_utf8_lossy(&done.stderr).trim())));
    }
    written?;
    Ok(said)
}

fn wrong(message: String) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidInput, message)
}
