//! Mending files: fixes are applied in memory, pass by pass, until a check finds nothing more to mend; only then is
//! each changed file written, once.

mod choose;

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fmt;
use std::path::PathBuf;

pub(super) use self::choose::{Done, Fixes};
use self::choose::{Pass, apply};
use super::store::{self, Refused};
use crate::archive::{Archive, Change, Report};
use crate::source::{FileId, Text};
use crate::syntax::{SyntaxErrorKind, Tree};

/// How often files are mended and checked again. Each pass of suggestions mends one thing a dive, and no plan has so
/// much wrong with one dive.
const MOST_PASSES: usize = 100;

/// What became of the files.
#[derive(Debug)]
pub(super) struct Mended {
    /// The archive as the disk now is.
    pub archive: Archive,
    /// What was mended, in the order it was.
    pub done: Vec<Done>,
    /// Files that were left as they are though there was something to mend, and why.
    pub left: Vec<(FileId, Left)>,
}

/// Why a file was left as it is.
#[derive(Debug)]
pub(super) enum Left {
    /// What a fix makes of it would not read.
    WouldNotRead,
    /// Its fixes undo each other, or never come to an end.
    Unsettled,
    /// It holds bytes that are not UTF-8.
    NotUtf8,
    /// It could not be written, or must not be.
    Refused(Refused),
}

impl fmt::Display for Left {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Left::WouldNotRead => f.write_str("the fix would put something into it that does not read"),
            Left::Unsettled => f.write_str("its fixes do not come to an end"),
            Left::NotUtf8 => f.write_str("it holds bytes that are not UTF-8"),
            Left::Refused(refused) => refused.fmt(f),
        }
    }
}

/// Mends some files of an archive. `check` looks at them again for each pass.
///
/// A fix is applied only where all of it lies in one of the files asked for. Findings that a waiver covers are left.
pub(super) fn fix(archive: &Archive, files: &[FileId], fixes: Fixes, check: &dyn Fn(&Archive) -> Report) -> Mended {
    let mut work = Work::new(archive, files);
    for number in 0..MOST_PASSES {
        let report = check(&work.now);
        if number == 0 {
            work.note_lossy(&report, fixes);
        }
        let pass = Pass::choose(&report, fixes, &|file| work.may_change(file), &|file| work.now.text(file).ok());
        if pass.is_empty() {
            return work.store();
        }
        work.apply(pass);
    }
    let unsettled: Vec<FileId> = work.changed.iter().cloned().collect();
    for file in unsettled {
        work.leave(&file, Left::Unsettled);
    }
    work.store()
}

/// Files in the course of being mended.
struct Work<'a> {
    before: &'a Archive,
    files: &'a [FileId],
    now: Archive,
    /// The files that may be changed, and where each is written to.
    targets: BTreeMap<FileId, PathBuf>,
    /// What was changed in the latest pass.
    changed: BTreeSet<FileId>,
    /// Every text that a file has had.
    seen: HashSet<(FileId, blake3::Hash)>,
    done: Vec<Done>,
    left: Vec<(FileId, Left)>,
}

impl<'a> Work<'a> {
    fn new(before: &'a Archive, files: &'a [FileId]) -> Work<'a> {
        let mut targets = BTreeMap::new();
        let mut taken = BTreeSet::new();
        for file in files {
            // Two names of one file must not both be mended.
            let target = std::fs::canonicalize(before.path_of(file)).unwrap_or_else(|_| before.path_of(file));
            if taken.insert(target.clone()) {
                targets.insert(file.clone(), target);
            }
        }
        let (changed, seen) = (BTreeSet::new(), HashSet::new());
        Work { before, files, now: before.clone(), targets, changed, seen, done: Vec::new(), left: Vec::new() }
    }

    fn may_change(&self, file: &FileId) -> bool {
        self.targets.contains_key(file) && self.now.text(file).is_ok_and(|text| !text.is_lossy())
    }

    /// Says of files that are not UTF-8 that there was something to mend.
    fn note_lossy(&mut self, report: &Report, fixes: Fixes) {
        let lossy =
            |file: &FileId| self.targets.contains_key(file) && self.now.text(file).is_ok_and(|text| text.is_lossy());
        let pass = Pass::choose(report, fixes, &lossy, &|file| self.now.text(file).ok());
        for file in pass.files() {
            self.left.push((file.clone(), Left::NotUtf8));
        }
    }

    fn apply(&mut self, pass: Pass) {
        self.changed.clear();
        for (file, chosen) in pass.into_files() {
            let Ok(text) = self.now.text(&file) else { continue };
            self.seen.insert((file.clone(), text.hash()));
            let new = Text::new(apply(text.as_str(), &chosen.edits));
            if has_new_faults(text.as_str(), new.as_str()) {
                self.leave(&file, Left::WouldNotRead);
            } else if !self.seen.insert((file.clone(), new.hash())) {
                self.leave(&file, Left::Unsettled);
            } else {
                self.now = self.now.with(&[Change::Open(file.clone(), new)]);
                self.done.extend(chosen.done);
                self.changed.insert(file);
            }
        }
    }

    /// Gives a file back its text from before, and touches it no more.
    fn leave(&mut self, file: &FileId, why: Left) {
        self.targets.remove(file);
        self.done.retain(|done| done.file != *file);
        self.now = self.now.with(&[Change::Closed(file.clone())]);
        self.left.push((file.clone(), why));
    }

    /// Writes what was changed.
    fn store(mut self) -> Mended {
        let changed: BTreeSet<FileId> = self.done.iter().map(|done| done.file.clone()).collect();
        for file in changed {
            let (Ok(before), Ok(now)) = (self.before.text(&file), self.now.text(&file)) else { continue };
            let Some(target) = self.targets.get(&file).cloned() else { continue };
            match store::replace(&target, self.before.root(), before.hash(), now.as_str()) {
                // What is on disk now is what is in memory.
                Ok(()) => self.now = self.now.with(&[Change::Closed(file)]),
                Err(refused) => self.leave(&file, Left::Refused(refused)),
            }
        }
        // A file may have been written under another of its names.
        let touched: Vec<Change> = self.files.iter().cloned().map(Change::Touched).collect();
        let archive = if self.done.is_empty() { self.now } else { self.now.with(&touched) };
        Mended { archive, done: self.done, left: self.left }
    }
}

/// Whether a text has more faults of some kind than it had before.
fn has_new_faults(before: &str, now: &str) -> bool {
    let kinds = |text: &str| {
        let mut kinds: HashMap<SyntaxErrorKind, usize> = HashMap::new();
        for error in Tree::parse(text).errors() {
            *kinds.entry(error.kind).or_default() += 1;
        }
        kinds
    };
    let before = kinds(before);
    kinds(now).iter().any(|(kind, count)| *count > before.get(kind).copied().unwrap_or(0))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]

    use std::cell::Cell;
    use std::fs;
    use std::sync::Arc;

    use super::*;
    use crate::archive::Disk;
    use crate::findings::{About, Finding, Fix, FixKind, Level, Waived};
    use crate::source::{Edit, Place, Span};

    const NAME: &str = "a.plan.kdl";

    fn archive(text: &[u8]) -> (tempfile::TempDir, Archive, FileId) {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(NAME), text).unwrap();
        let archive = Archive::open(Arc::new(Disk), folder.path());
        (folder, archive, FileId::new(NAME))
    }

    /// A finding for each place that `from` stands at, with a fix that writes `to` there.
    fn findings(archive: &Archive, kind: FixKind, changes: &[(&str, &str)]) -> Report {
        let file = FileId::new(NAME);
        let text = archive.text(&file).unwrap();
        let mut found = Vec::new();
        for (from, to) in changes {
            for (at, _) in text.as_str().match_indices(from) {
                let place = Place::new(file.clone(), Span::new(at as u32, (at + from.len()) as u32));
                let edits = vec![Edit { place: place.clone(), text: (*to).to_owned() }];
                let fix = Fix { title: format!("write {to}"), kind, edits };
                found.push(Finding::new("made-up", Level::Error, place, "made up").with_fix(fix));
            }
        }
        Report { files: vec![(file, found)], ..Report::default() }
    }

    fn read(archive: &Archive) -> Vec<u8> {
        fs::read(archive.root().join(NAME)).unwrap()
    }

    #[test]
    fn files_are_mended_until_nothing_changes() {
        let (_folder, archive, file) = archive(b"a 1\na 2\n");
        let check = |now: &Archive| findings(now, FixKind::Safe, &[("a ", "b "), ("b ", "c ")]);
        let mended = fix(&archive, &[file], Fixes::Safe, &check);
        assert_eq!(read(&archive), b"c 1\nc 2\n");
        assert_eq!((mended.done.len(), mended.left.len()), (4, 0));
    }

    #[test]
    fn a_file_that_would_not_read_is_left() {
        let (_folder, archive, file) = archive(b"a 1\nb 2\n");
        let check = |now: &Archive| findings(now, FixKind::Safe, &[("a ", "c "), ("b ", "b { ")]);
        let mended = fix(&archive, &[file], Fixes::Safe, &check);
        assert_eq!(read(&archive), b"a 1\nb 2\n");
        assert!(mended.done.is_empty());
        assert!(matches!(&*mended.left, [(_, Left::WouldNotRead)]), "{:?}", mended.left);
    }

    #[test]
    fn fixes_that_undo_each_other_end() {
        let (_folder, archive, file) = archive(b"a 1\n");
        let check = |now: &Archive| findings(now, FixKind::Safe, &[("a ", "b "), ("b ", "a ")]);
        let mended = fix(&archive, &[file], Fixes::Safe, &check);
        assert_eq!(read(&archive), b"a 1\n");
        assert!(matches!(&*mended.left, [(_, Left::Unsettled)]), "{:?}", mended.left);
    }

    #[test]
    fn fixes_that_never_end_are_given_up() {
        let (_folder, archive, file) = archive(b"a 1\n");
        let check = |now: &Archive| findings(now, FixKind::Safe, &[("a 1", "a 1 1")]);
        let mended = fix(&archive, &[file], Fixes::Safe, &check);
        assert_eq!(read(&archive), b"a 1\n");
        assert!(matches!(&*mended.left, [(_, Left::Unsettled)]), "{:?}", mended.left);
    }

    #[test]
    fn a_file_that_somebody_else_changes_is_theirs() {
        let (_folder, archive, file) = archive(b"a 1\n");
        let check = |now: &Archive| {
            let report = findings(now, FixKind::Safe, &[("a ", "b ")]);
            fs::write(archive.root().join(NAME), b"a 1 // and more\n").unwrap();
            report
        };
        let mended = fix(&archive, std::slice::from_ref(&file), Fixes::Safe, &check);
        assert_eq!(read(&archive), b"a 1 // and more\n");
        assert!(mended.done.is_empty());
        assert!(matches!(&*mended.left, [(_, Left::Refused(Refused::Changed))]), "{:?}", mended.left);
        assert_eq!(mended.archive.text(&file).unwrap().as_str(), "a 1 // and more\n");
    }

    #[test]
    fn a_file_that_is_not_utf8_is_left() {
        let (_folder, archive, file) = archive(b"a \xff 1\n");
        let check = |now: &Archive| findings(now, FixKind::Safe, &[("a ", "b ")]);
        let mended = fix(&archive, &[file], Fixes::Safe, &check);
        assert_eq!(read(&archive), b"a \xff 1\n");
        assert!(matches!(&*mended.left, [(_, Left::NotUtf8)]), "{:?}", mended.left);
    }

    #[test]
    fn what_a_waiver_covers_is_not_mended() {
        let (_folder, archive, file) = archive(b"a 1\n");
        let check = |now: &Archive| {
            let mut report = findings(now, FixKind::Safe, &[("a ", "b ")]);
            for finding in report.files.iter_mut().flat_map(|(_, findings)| findings) {
                finding.waived = Some(Waived { because: "agreed".to_owned(), by: Vec::new() });
            }
            report
        };
        let mended = fix(&archive, &[file], Fixes::Suggested, &check);
        assert_eq!(read(&archive), b"a 1\n");
        assert!(mended.done.is_empty() && mended.left.is_empty());
    }

    #[test]
    fn suggestions_are_followed_only_where_asked_for_and_one_a_dive_and_pass() {
        let (_folder, archive, file) = archive(b"a 1\na 2\na 3\n");
        let passes = Cell::new(0);
        let check = |now: &Archive| {
            passes.set(passes.get() + 1);
            let mut report = findings(now, FixKind::Suggested, &[("a ", "b ")]);
            for (number, finding) in report.files.iter_mut().flat_map(|(_, findings)| findings).enumerate() {
                let dive = if number == 0 { "first" } else { "second" };
                finding.about = About { dive: Some(dive.to_owned()), ..About::default() };
            }
            report
        };
        let mended = fix(&archive, std::slice::from_ref(&file), Fixes::Safe, &check);
        assert_eq!((mended.done.len(), passes.take()), (0, 1));
        let mended = fix(&archive, &[file], Fixes::Suggested, &check);
        assert_eq!(read(&archive), b"b 1\nb 2\nb 3\n");
        // Two dives in the first pass, the third finding in the second, nothing in the last.
        assert_eq!((mended.done.len(), passes.get()), (3, 3));
    }
}
