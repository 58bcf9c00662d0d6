//! Which fixes one pass applies, and what they make of a text.

use std::collections::{BTreeMap, BTreeSet};

use clap::ValueEnum;

use crate::archive::Report;
use crate::findings::{Finding, Fix, FixKind};
use crate::source::{Edit, FileId, Span, Text, applied};

/// The fixes of one pass, by file.
#[derive(Debug, Default)]
pub(super) struct Pass {
    files: BTreeMap<FileId, Chosen>,
}

/// What is done to one file in a pass.
#[derive(Debug, Default)]
pub(super) struct Chosen {
    /// What is replaced, by its span; none of it overlaps.
    pub edits: BTreeMap<Span, String>,
    /// What each fix does.
    pub done: Vec<Done>,
    /// The fixes themselves, each with where its finding stands.
    pub fixes: Vec<(Named, Span, Fix)>,
}

/// A fix as it is known again in a text that others have changed: by its rule, its title and what it writes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Named {
    rule: String,
    title: String,
    writes: Vec<String>,
}

impl Named {
    pub(super) fn of(finding: &Finding, fix: &Fix) -> Named {
        let writes = fix.edits.iter().map(|edit| edit.text.clone()).collect();
        Named { rule: finding.rule.clone(), title: fix.title.clone(), writes }
    }
}

impl Pass {
    /// Chooses fixes of a report's findings: the safe ones if there are any, else, where asked for, the first
    /// suggestion for each dive. Where two meet, the first in document order is chosen and the other waits.
    pub(super) fn choose(
        report: &Report,
        fixes: Fixes,
        may_change: &dyn Fn(&FileId) -> bool,
        spurned: &BTreeSet<(FileId, Named)>,
        text: &dyn Fn(&FileId) -> Option<Text>,
    ) -> Pass {
        let mut pass = Pass::default();
        let findings = || {
            let all = report.files.iter().flat_map(|(_, findings)| findings);
            all.filter(|finding| finding.counts())
        };
        let usable = |finding: &Finding, fix: &Fix| {
            let Some(file) = one_file(fix) else { return false };
            may_change(file)
                && !spurned.contains(&(file.clone(), Named::of(finding, fix)))
                && text(file).is_some_and(|text| changes(text.as_str(), fix))
        };
        for finding in findings() {
            if let Some(fix) =
                finding.fixes.iter().filter(|fix| fix.kind == FixKind::Safe).find(|fix| usable(finding, fix))
            {
                pass.add(finding, fix);
            }
        }
        if !pass.is_empty() || fixes == Fixes::Safe {
            return pass;
        }
        let mut dives = BTreeSet::new();
        for finding in findings() {
            let plan = finding.about.plan.as_ref().unwrap_or(&finding.place.file);
            let dive = (plan, &finding.about.dive);
            // Which of two readings is meant nobody can tell but who wrote it.
            let Some(fix) = finding.fixes.first().filter(|fix| usable(finding, fix) && !is_a_choice(finding, fix))
            else {
                continue;
            };
            if !dives.contains(&dive) && pass.add(finding, fix) {
                dives.insert(dive);
            }
        }
        pass
    }

    /// Whether there is nothing to do.
    pub(super) fn is_empty(&self) -> bool {
        self.files.is_empty()
    }

    /// The files that would be changed.
    pub(super) fn files(&self) -> impl Iterator<Item = &FileId> {
        self.files.keys()
    }

    /// What is done to each file.
    pub(super) fn into_files(self) -> impl Iterator<Item = (FileId, Chosen)> {
        self.files.into_iter()
    }

    fn add(&mut self, finding: &Finding, fix: &Fix) -> bool {
        let Some(file) = one_file(fix) else { return false };
        if self.files.get(file).is_some_and(|chosen| fix.edits.iter().any(|edit| chosen.meets(edit.place.span))) {
            return false;
        }
        let chosen = self.files.entry(file.clone()).or_default();
        chosen.edits.extend(fix.edits.iter().map(|edit| (edit.place.span, edit.text.clone())));
        chosen.done.push(Done { file: file.clone(), line: 0, rule: finding.rule.clone(), title: fix.title.clone() });
        chosen.fixes.push((Named::of(finding, fix), finding.place.span, fix.clone()));
        true
    }
}

impl Chosen {
    /// Whether an edit of this span can't be made beside those chosen. They don't overlap, so that only the one that
    /// starts before and those that start inside can be in the way.
    fn meets(&self, span: Span) -> bool {
        let before = self.edits.range(..Span::at(span.start)).next_back();
        let inside = self.edits.range(Span::at(span.start)..=Span::new(span.end, u32::MAX));
        before.into_iter().chain(inside).any(|(other, _)| other.overlaps(span))
    }
}

/// Whether another fix of a finding writes something else in the very same place, or takes something else out.
fn is_a_choice(finding: &Finding, fix: &Fix) -> bool {
    let places = |fix: &Fix| fix.edits.iter().map(|edit| edit.place.clone()).collect::<Vec<_>>();
    let takes_out = |fix: &Fix| fix.edits.iter().all(|edit| edit.text.is_empty());
    let others = || finding.fixes.iter().filter(|other| *other != fix);
    others().any(|other| places(other) == places(fix) || takes_out(other) && takes_out(fix))
}

/// The edits of one fix, by their spans.
pub(super) fn edits(fix: &Fix) -> BTreeMap<Span, String> {
    fix.edits.iter().map(|edit| (edit.place.span, edit.text.clone())).collect()
}

/// Where what stood at a place of a text may stand after some edits: before or behind what was put in at that very place.
pub(super) fn moved(at: u32, edits: &BTreeMap<Span, String>) -> [i64; 2] {
    let shift = |counts: &dyn Fn(&Span) -> bool| -> i64 {
        let all = edits.iter().filter(|(span, _)| counts(span));
        all.map(|(span, text)| text.len() as i64 - i64::from(span.end - span.start)).sum()
    };
    [shift(&|span| span.end < at), shift(&|span| span.end <= at)].map(|shift| i64::from(at) + shift)
}

/// The file that all of a fix lies in.
fn one_file(fix: &Fix) -> Option<&FileId> {
    let file = &fix.edits.first()?.place.file;
    fix.edits.iter().all(|edit| edit.place.file == *file).then_some(file)
}

/// Whether a fix can be applied to a text and makes it another.
fn changes(text: &str, fix: &Fix) -> bool {
    let mut spans: Vec<Span> = fix.edits.iter().map(|edit| edit.place.span).collect();
    spans.sort_unstable();
    let apart = spans.windows(2).all(|pair| !matches!(pair, [a, b] if a.overlaps(*b)));
    let was = |edit: &Edit| text.get(edit.place.span.range());
    apart
        && fix.edits.iter().all(|edit| was(edit).is_some())
        && fix.edits.iter().any(|edit| was(edit) != Some(&edit.text))
}

/// A text with some edits made that don't overlap. What is put in takes the line ends of the text; nothing is put
/// before a byte-order mark.
pub(super) fn apply(text: &str, edits: &BTreeMap<Span, String>) -> String {
    let first = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() as u32 } else { 0 };
    let line_end = line_end(text);
    let made = |(span, put): (&Span, &String)| {
        let put = put.replace("\r\n", "\n").replace('\r', "\n").replace('\n', line_end);
        (Span::new(span.start.max(first), span.end.max(first)), put)
    };
    applied(text, &edits.iter().map(made).collect::<Vec<_>>())
}

/// The line end that most lines of a text have.
fn line_end(text: &str) -> &'static str {
    let windows = text.matches("\r\n").count();
    let unix = text.matches('\n').count() - windows;
    let old_mac = text.matches('\r').count() - windows;
    if windows > unix && windows >= old_mac {
        "\r\n"
    } else if old_mac > unix {
        "\r"
    } else {
        "\n"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after<const N: usize>(text: &str, edits: [(u32, u32, &str); N]) -> String {
        let edits = edits.into_iter().map(|(start, end, put)| (Span::new(start, end), put.to_owned()));
        apply(text, &edits.collect())
    }

    #[test]
    fn what_is_put_in_takes_the_texts_line_ends() {
        assert_eq!(after("a\r\nb\r\n", [(3, 3, "x\ny\r\n")]), "a\r\nx\r\ny\r\nb\r\n");
        assert_eq!(after("a\rb\r", [(2, 2, "x\n")]), "a\rx\rb\r");
        assert_eq!(after("a\nb\r\nc\n", [(2, 2, "x\r\n")]), "a\nx\nb\r\nc\n");
        assert_eq!(after("", [(0, 0, "x\n")]), "x\n");
    }

    #[test]
    fn nothing_is_put_before_a_byte_order_mark() {
        assert_eq!(after("\u{feff}b", [(0, 0, "a\n")]), "\u{feff}a\nb");
        assert_eq!(after("\u{feff}b", [(0, 4, "a")]), "\u{feff}a");
    }

    #[test]
    fn edits_are_made_in_the_texts_order() {
        assert_eq!(after("abc", [(2, 3, "z"), (0, 1, "x")]), "xbz");
    }

    #[test]
    fn edits_that_share_a_place_wait_for_each_other() {
        assert!(Span::new(0, 3).overlaps(Span::new(2, 4)));
        assert!(!Span::new(0, 3).overlaps(Span::new(3, 4)));
        assert!(Span::at(3).overlaps(Span::new(3, 4)));
        assert!(Span::at(3).overlaps(Span::at(3)));
    }
}

/// Which fixes are applied.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Fixes {
    /// Those that follow from what is written: a unit, a spelling, an order
    Safe,
    /// Also the first suggestion for each finding, one a dive and pass
    Suggested,
}

/// One thing that was mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Done {
    /// In which file.
    pub file: FileId,
    /// In which line, from 1.
    pub line: u32,
    /// The rule whose finding it was.
    pub rule: String,
    /// What was done, in the imperative.
    pub title: String,
}
