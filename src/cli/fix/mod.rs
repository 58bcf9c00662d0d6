//! Mending files: fixes are applied in memory, pass by pass, until a check finds nothing more to mend; only then is
//! each changed file written, once.

mod choose;

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fmt;
use std::path::PathBuf;

use self::choose::{Chosen, Named, Pass, apply, edits, moved};
pub(super) use self::choose::{Done, Fixes};
use super::store::{self, Refused};
use crate::archive::{Archive, Change, Report};
use crate::findings::Fix;
use crate::source::{Encoding, FileId, Span, Text};
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

/// Why a file was left as it is, or a fix of it was not made.
#[derive(Debug)]
pub(super) enum Left {
    /// What a fix would make of it does not read: that one is not made.
    FixBreaks,
    /// A fix does not mend what it is for: that one is not made.
    FixIdle,
    /// Its fixes undo each other, or never come to an end.
    Unsettled,
    /// It holds bytes that are not UTF-8.
    NotUtf8,
    /// It could not be written, or must not be.
    Refused(Refused),
}

impl Left {
    /// Whether that is all: everything else in the file is mended.
    pub(super) fn is_of_one_fix(&self) -> bool {
        matches!(self, Left::FixBreaks | Left::FixIdle)
    }
}

impl fmt::Display for Left {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Left::FixBreaks => f.write_str("a fix is not made that would put something into it that does not read"),
            Left::FixIdle => f.write_str("a fix is not made that does not mend what it is for"),
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
    store::tidy_beside(archive, files);
    worked(archive, files, fixes, check).store()
}

/// The same in memory alone: what mending would come to.
pub(super) fn planned(archive: &Archive, files: &[FileId], fixes: Fixes, check: &dyn Fn(&Archive) -> Report) -> Mended {
    let Work { now, done, left, .. } = worked(archive, files, fixes, check);
    Mended { archive: now, done, left }
}

fn worked<'a>(archive: &'a Archive, files: &'a [FileId], fixes: Fixes, check: &dyn Fn(&Archive) -> Report) -> Work<'a> {
    let mut work = Work::new(archive, files);
    for number in 0..MOST_PASSES {
        let report = check(&work.now);
        if number == 0 {
            work.note_lossy(&report, fixes);
        }
        if work.take_back(&report) {
            continue;
        }
        let may_change = |file: &FileId| work.may_change(file);
        let pass = Pass::choose(&report, fixes, &may_change, &work.spurned, &|file| work.now.text(file).ok());
        if pass.is_empty() {
            return work;
        }
        work.apply(pass);
    }
    let unsettled: Vec<FileId> = work.changed.iter().cloned().collect();
    for file in unsettled {
        work.leave(&file, Left::Unsettled);
    }
    work
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
    /// What the latest pass did to each file, and the text that it had before.
    latest: Vec<(FileId, Text, Chosen)>,
    /// Fixes that did not mend what they were for: they are not made again.
    spurned: BTreeSet<(FileId, Named)>,
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
        let (latest, spurned) = (Vec::new(), BTreeSet::new());
        let (now, done, left) = (before.clone(), Vec::new(), Vec::new());
        Work { before, files, now, targets, changed, latest, spurned, seen, done, left }
    }

    fn may_change(&self, file: &FileId) -> bool {
        self.targets.contains_key(file) && self.now.text(file).is_ok_and(|text| !text.is_lossy())
    }

    /// Says of files that are not UTF-8 that there was something to mend.
    fn note_lossy(&mut self, report: &Report, fixes: Fixes) {
        let lossy =
            |file: &FileId| self.targets.contains_key(file) && self.now.text(file).is_ok_and(|text| text.is_lossy());
        let pass = Pass::choose(report, fixes, &lossy, &self.spurned, &|file| self.now.text(file).ok());
        for file in pass.files() {
            self.left.push((file.clone(), Left::NotUtf8));
        }
    }

    /// Takes back what the latest pass did to files in which one of its fixes did not mend what it was for, and has that one
    /// never made again; whether there was any.
    fn take_back(&mut self, report: &Report) -> bool {
        let mut any = false;
        for (file, before, chosen) in std::mem::take(&mut self.latest) {
            let findings = report.files.iter().flat_map(|(_, findings)| findings);
            let still: BTreeSet<(Named, i64)> = findings
                .filter(|finding| finding.place.file == file)
                .flat_map(|finding| finding.fixes.iter().map(|fix| (Named::of(finding, fix), finding.place.span.start)))
                .map(|(named, at)| (named, i64::from(at)))
                .collect();
            let stands = |(named, span, _): &&(Named, Span, Fix)| {
                moved(span.start, &chosen.edits).into_iter().any(|at| still.contains(&(named.clone(), at)))
            };
            let idle: Vec<Named> = chosen.fixes.iter().filter(stands).map(|(named, ..)| named.clone()).collect();
            if idle.is_empty() {
                continue;
            }
            any = true;
            self.undo(&chosen);
            self.now = self.now.with(&[Change::Open(file.clone(), before)]);
            self.spurn(&file, idle, Left::FixIdle);
        }
        any
    }

    /// What was done is done no longer.
    fn undo(&mut self, chosen: &Chosen) {
        for undone in &chosen.done {
            if let Some(at) = self.done.iter().rposition(|done| done == undone) {
                self.done.remove(at);
            }
        }
    }

    /// Has some fixes of a file never made again.
    fn spurn(&mut self, file: &FileId, fixes: Vec<Named>, why: Left) {
        let told = |(other, left): &(FileId, Left)| other == file && left.to_string() == why.to_string();
        if !self.left.iter().any(told) {
            self.left.push((file.clone(), why));
        }
        self.spurned.extend(fixes.into_iter().map(|named| (file.clone(), named)));
    }

    fn apply(&mut self, pass: Pass) {
        self.changed.clear();
        for (file, mut chosen) in pass.into_files() {
            let Ok(text) = self.now.text(&file) else { continue };
            self.seen.insert((file.clone(), text.hash()));
            let new = Text::new(apply(text.as_str(), &chosen.edits));
            if has_new_faults(text.as_str(), new.as_str()) {
                let breaks = |fix: &Fix| has_new_faults(text.as_str(), &apply(text.as_str(), &edits(fix)));
                let alone = chosen.fixes.iter().filter(|(_, _, fix)| breaks(fix)).map(|(named, ..)| named.clone());
                let mut alone: Vec<Named> = alone.collect();
                if alone.is_empty() {
                    // Only together do they break it: the first of them is made alone next time.
                    alone.extend(chosen.fixes.iter().skip(1).map(|(named, ..)| named.clone()));
                }
                self.spurn(&file, alone, Left::FixBreaks);
            } else if !self.seen.insert((file.clone(), new.hash())) {
                self.leave(&file, Left::Unsettled);
            } else {
                self.now = self.now.with(&[Change::Open(file.clone(), new)]);
                let line = |at: u32| text.position(at, Encoding::Utf8).line + 1;
                for (done, (_, span, _)) in chosen.done.iter_mut().zip(&chosen.fixes) {
                    done.line = line(span.start);
                }
                self.done.extend(chosen.done.iter().cloned());
                self.changed.insert(file.clone());
                self.latest.push((file, text, chosen));
            }
        }
    }

    /// Gives a file back its text from before, and touches it no more.
    fn leave(&mut self, file: &FileId, why: Left) {
        self.targets.remove(file);
        self.done.retain(|done| done.file != *file);
        // What nobody has saved goes back to what it was; else the disk's word holds.
        let back = match self.before.text(file) {
            Ok(text) if self.before.is_open(file) => Change::Open(file.clone(), text),
            _ => Change::Closed(file.clone()),
        };
        self.now = self.now.with(&[back]);
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
    fn a_fix_that_would_not_read_is_not_made_and_holds_up_no_other() {
        let (_folder, archive, file) = archive(b"a 1\nb 2\n");
        let check = |now: &Archive| findings(now, FixKind::Safe, &[("a ", "c "), ("b ", "b { ")]);
        let mended = fix(&archive, &[file], Fixes::Safe, &check);
        assert_eq!(read(&archive), b"c 1\nb 2\n");
        assert_eq!(mended.done.len(), 1);
        assert!(matches!(&*mended.left, [(_, Left::FixBreaks)]), "{:?}", mended.left);
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
    fn a_fix_that_mends_nothing_is_not_made_and_holds_up_no_other() {
        let (_folder, archive, file) = archive(b"a 1\nb 2\n");
        let check = |now: &Archive| findings(now, FixKind::Safe, &[("a 1", "a 1 1"), ("b ", "c ")]);
        let mended = fix(&archive, &[file], Fixes::Safe, &check);
        assert_eq!(read(&archive), b"a 1\nc 2\n");
        assert_eq!(mended.done.iter().map(|done| &*done.title).collect::<Vec<_>>(), ["write c "]);
        assert!(matches!(&*mended.left, [(_, Left::FixIdle)]), "{:?}", mended.left);
    }

    #[test]
    fn a_fix_may_be_made_where_another_of_its_kind_shows_only_then() {
        // Each takes one letter of a row; the next is found where the last one was mended.
        let (_folder, archive, file) = archive(b"xyxy 1\n");
        let first = |now: &Archive| {
            let mut report = findings(now, FixKind::Safe, &[("xy", "z")]);
            report.files.iter_mut().for_each(|(_, findings)| findings.truncate(1));
            report
        };
        let mended = fix(&archive, &[file], Fixes::Safe, &first);
        assert_eq!(read(&archive), b"zz 1\n");
        assert_eq!((mended.done.len(), mended.left.len()), (2, 0));
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
