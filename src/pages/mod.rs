//! Every printed output.
//!
//! A page is made from a [`Sheet`]: what checks of one or several archives found, each file under the name a reader
//! knows it by. Every page carries [`crate::CAUTION`].

mod columns;
pub(crate) mod figures;
pub mod json;
pub(crate) mod language;
pub mod line;
pub(crate) mod measured;
mod merge;
pub(crate) mod new_plan;
pub(crate) mod rules;
pub mod screen;
pub(crate) mod settings;
pub(crate) mod statistics;
pub(crate) mod stops;
mod summary;
pub(crate) mod track;

pub(crate) use summary::Summary;
pub(crate) use summary::counted;

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

pub use self::merge::OnPage;
use self::merge::merged;
use crate::archive::{Archive, LeftOut, Report};
use crate::findings::{Entry, Finding, Level};
use crate::forecast::dives::DiverDive;
use crate::rules::Fact;
use crate::source::clean::clean;
use crate::source::{FileId, Place};

/// So many accepted findings that are gone are told one by one; JSON has them all.
const MOST_GONE: usize = 10;

/// An archive and what a check of some of its files found.
#[derive(Debug, Clone)]
pub struct Checked {
    /// The archive.
    pub archive: Archive,
    /// What the check found.
    pub report: Report,
}

/// What the pages print.
#[derive(Debug, Clone)]
pub struct Sheet {
    checked: Vec<Checked>,
    here: PathBuf,
    /// So many findings are listed, all of them counted.
    most: usize,
}

/// One file of a sheet with the findings that stand in it.
#[derive(Debug, Clone)]
pub struct Listed<'a> {
    /// The archive that the file belongs to.
    pub archive: &'a Archive,
    /// The file.
    pub file: FileId,
    /// The findings placed in it, in document order, the waived ones among them.
    pub findings: Vec<OnPage<'a>>,
}

/// The line that a diver's dive is headed by on a page.
fn titled(dive: &DiverDive<'_>) -> String {
    let (name, member) = (&dive.dive.name.value, dive.member);
    let breathes = member.unit_name.as_ref().map_or("open circuit".to_owned(), |unit| format!("unit {:?}", unit.value));
    let title = format!("dive {name:?}, diver {:?}, {breathes}", member.name.value);
    clean(&title).into_owned()
}

impl Sheet {
    /// A sheet for a reader who stands in the folder `here`, an absolute path: files are named from there.
    pub fn new(checked: Vec<Checked>, here: &Path) -> Sheet {
        Sheet { checked, here: here.to_owned(), most: usize::MAX }
    }

    /// The same with no more findings listed than so many, the gravest.
    #[must_use]
    pub fn at_most(self, most: usize) -> Sheet {
        Sheet { most, ..self }
    }

    /// What was checked.
    pub fn checked(&self) -> &[Checked] {
        &self.checked
    }

    /// The files with the findings that stand in them, in order of archive and path. A finding stands where its place
    /// is, whichever file's check found it; what several checks found alike is listed once, and a fact of the kit that several
    /// plans meet is listed once where it stands.
    pub fn listed(&self) -> Vec<Listed<'_>> {
        let mut listed = Vec::new();
        for checked in &self.checked {
            let mut files: BTreeMap<FileId, Vec<OnPage<'_>>> = BTreeMap::new();
            files.extend(checked.report.files.iter().map(|(file, _)| (file.clone(), Vec::new())));
            for finding in merged(checked.report.files.iter().flat_map(|(_, findings)| findings)) {
                files.entry(finding.place.file.clone()).or_default().push(finding);
            }
            for (file, mut findings) in files {
                findings.sort_by(|a, b| order(a).cmp(&order(b)));
                findings.dedup_by(|a, b| is_same(a, b));
                listed.push(Listed { archive: &checked.archive, file, findings });
            }
        }
        listed
    }

    /// The same as far as it is shown, and how many findings are not.
    pub fn shown(&self) -> (Vec<Listed<'_>>, usize) {
        let mut listed = self.listed();
        let told = |finding: &OnPage<'_>| !finding.accepted;
        let mut levels: Vec<Level> =
            listed.iter().flat_map(|listed| &listed.findings).filter(|it| told(it)).map(|it| it.level).collect();
        let left = levels.len().saturating_sub(self.most);
        if left == 0 {
            return (listed, 0);
        }
        levels.sort_unstable_by(|a, b| b.cmp(a));
        // Of the least grave level that is listed only the first ones are.
        let least = self.most.checked_sub(1).and_then(|last| levels.get(last)).copied();
        let mut of_least = levels.iter().take(self.most).filter(|level| Some(**level) == least).count();
        for finding_list in listed.iter_mut().map(|listed| &mut listed.findings) {
            finding_list.retain(|finding| {
                if !told(finding) || least.is_some_and(|least| finding.level > least) {
                    return true;
                }
                let is_listed = Some(finding.level) == least && of_least > 0;
                of_least -= usize::from(is_listed);
                is_listed
            });
        }
        (listed, left)
    }

    /// The findings that were not asked for, by their rules.
    pub(crate) fn unselected(&self) -> BTreeMap<&str, usize> {
        let mut all: BTreeMap<&str, usize> = BTreeMap::new();
        for (rule, count) in self.checked.iter().flat_map(|checked| &checked.report.unselected) {
            *all.entry(rule).or_default() += count;
        }
        all
    }

    /// What was not listed, though it was found: by choice, and by number, `left` of them.
    pub(crate) fn told_unlisted(&self, left: usize) -> Vec<String> {
        let unselected = self.unselected();
        let named = unselected.iter().take(MOST_GONE).map(|(rule, count)| format!("{count} {rule}"));
        let mut named: Vec<String> = named.collect();
        if unselected.len() > MOST_GONE {
            named.push(format!("{} more rules", unselected.len() - MOST_GONE));
        }
        let mut told = Vec::new();
        if !named.is_empty() {
            told.push(format!("not selected: {}", named.join(", ")));
        }
        if left > 0 {
            told.push(format!("not shown: {} beyond the {} of --max-findings", counted(left, "finding"), self.most));
        }
        told
    }

    /// What the house has lowered, with its reason, each said once.
    pub fn lowered(&self) -> Vec<String> {
        let mut lowered: Vec<String> =
            self.checked.iter().flat_map(|checked| checked.report.lowered.iter().cloned()).collect();
        lowered.sort();
        lowered.dedup();
        lowered
    }

    /// Accepted findings that are no longer found, each with the name of its file.
    pub fn gone(&self) -> Vec<(String, &Entry)> {
        let all = self.checked.iter().flat_map(|checked| checked.report.gone.iter().map(move |gone| (checked, gone)));
        all.map(|(checked, gone)| (self.name(&checked.archive, &gone.path), gone)).collect()
    }

    /// Accepted findings of an older file of which nobody can tell which findings they are, each with the name of its file.
    pub fn unclear(&self) -> Vec<(String, &Entry)> {
        let all = self.checked.iter().flat_map(|checked| checked.report.unclear.iter().map(move |one| (checked, one)));
        all.map(|(checked, one)| (self.name(&checked.archive, &one.path), one)).collect()
    }

    /// The same of both in sentences, if there are any; not more than a few are told one by one.
    pub fn told_gone(&self) -> Vec<String> {
        let mut told = told_of("gone", "forgets what is gone", &self.gone());
        told.extend(told_of("unclear", "accepts anew what more than one finding now fits", &self.unclear()));
        told
    }

    /// The files that were left out, each by the name that the reader knows it by, and why.
    pub fn left_out(&self) -> Vec<(String, LeftOut)> {
        let all = self.checked.iter().flat_map(|checked| checked.report.left_out.iter().map(move |one| (checked, one)));
        all.map(|(checked, (file, why))| (self.name(&checked.archive, file), *why)).collect()
    }

    /// The same in sentences; not more than a few are told one by one.
    pub fn told_left_out(&self) -> Vec<String> {
        let all = self.left_out();
        let mut told: Vec<String> =
            all.iter().take(MOST_GONE).map(|(file, why)| format!("left out: {file} ({})", why.words())).collect();
        if all.len() > MOST_GONE {
            told.push(format!("left out: and {} more", all.len() - MOST_GONE));
        }
        told
    }

    /// The facts that rules lacked, each with the archive that it stands in.
    pub fn lacking(&self) -> Vec<(&Archive, &Fact)> {
        let all = self.checked.iter().flat_map(|checked| checked.report.lacking.iter().map(move |one| (checked, one)));
        all.map(|(checked, fact)| (&checked.archive, fact)).collect()
    }

    /// The same, a line each: where it would stand, the fact, and the rules that wait for it.
    pub fn told_lacking(&self) -> Vec<String> {
        let told = |(archive, Fact { place, fact, rules }): (&Archive, &Fact)| {
            let (at, _) = spots(archive, place);
            let name = self.name(archive, &place.file);
            format!("{name}:{}:{}: lacking: {fact} (for {})", at.line, at.column, rules.join(", "))
        };
        self.lacking().into_iter().map(told).collect()
    }

    /// The name that the reader knows a file by.
    pub fn name(&self, archive: &Archive, file: &FileId) -> String {
        file_name(archive, file, &self.here)
    }
}

/// The name that someone who stands in the folder `here` knows a file by: its path from there, `/` between the parts,
/// or its absolute path where that folder lies outside the file's archive.
pub fn file_name(archive: &Archive, file: &FileId, here: &Path) -> String {
    let path = archive.path_of(file);
    if let Ok(below) = path.strip_prefix(here) {
        return slashed(below);
    }
    match here.strip_prefix(archive.root()) {
        Ok(inside) => {
            let shared = inside.components().zip(file.as_path().components()).take_while(|(a, b)| a == b).count();
            let up = inside.components().count() - shared;
            let mut name: PathBuf = std::iter::repeat_n("..", up).collect();
            name.extend(file.as_path().components().skip(shared));
            slashed(&name)
        }
        Err(_) => slashed(&path),
    }
}

impl Listed<'_> {
    /// The 1-based line and column, in characters, of a place's start and of its end; 1 where the file can't be read.
    pub fn lines(&self, place: &Place) -> (Spot, Spot) {
        spots(self.archive, place)
    }
}

/// A position as the pages print it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot {
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
    /// Byte in the file's text, from 0.
    pub byte: u32,
}

/// Where a place starts and ends, cut to the text it is in.
pub(crate) fn spots(archive: &Archive, place: &Place) -> (Spot, Spot) {
    let Ok(text) = archive.text(&place.file) else {
        let spot = |byte| Spot { line: 1, column: 1, byte };
        return (spot(place.span.start), spot(place.span.end));
    };
    let spot = |offset: u32| {
        let byte = offset.min(text.len());
        let at = text.position(byte, crate::source::Encoding::Utf32);
        // A byte-order mark is no character of the first line.
        let marked = at.line == 0 && at.column > 0 && text.as_str().starts_with('\u{feff}');
        Spot { line: at.line + 1, column: at.column + 1 - u32::from(marked), byte }
    };
    (spot(place.span.start), spot(place.span.end))
}

/// Accepted findings in sentences: what they are, and what accepting does about it.
fn told_of(are_what: &str, accepting: &str, entries: &[(String, &Entry)]) -> Vec<String> {
    let all: usize = entries.iter().map(|(_, entry)| entry.count).sum();
    if all == 0 {
        return Vec::new();
    }
    let (are, findings) = (if all == 1 { "is" } else { "are" }, counted(all, "accepted finding"));
    let mut told = vec![format!("{findings} {are} {are_what}: `leadsman check --accept` {accepting}")];
    told.extend(entries.iter().take(MOST_GONE).map(|(file, entry)| {
        let place: Vec<&str> = entry.names.iter().map(String::as_str).chain([&*entry.text]).collect();
        let times = if entry.count == 1 { String::new() } else { format!(", {} times", entry.count) };
        format!("{are_what}: {file}: {} at {}{times}", entry.rule, place.join(" / "))
    }));
    if entries.len() > MOST_GONE {
        told.push(format!("{are_what}: and {} more", entries.len() - MOST_GONE));
    }
    told
}

fn order(finding: &Finding) -> impl Ord + use<'_> {
    let span = finding.place.span;
    (
        span.start,
        std::cmp::Reverse(finding.level),
        span.end,
        &*finding.rule,
        &*finding.message,
        finding.waived.is_some(),
        finding.accepted,
    )
}

/// Whether two findings say the same of the same place, whichever dive they were found on.
fn is_same(a: &Finding, b: &Finding) -> bool {
    (a.rule == b.rule && a.place == b.place && a.level == b.level)
        && (a.message == b.message && a.waived == b.waived && a.accepted == b.accepted && a.related == b.related)
}

fn slashed(path: &Path) -> String {
    let mut name = String::new();
    for part in path.components() {
        match part {
            Component::RootDir => name.push('/'),
            part => {
                if !name.is_empty() && !name.ends_with('/') {
                    name.push('/');
                }
                name.push_str(&part.as_os_str().to_string_lossy());
            }
        }
    }
    name
}
