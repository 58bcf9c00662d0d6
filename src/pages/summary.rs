//! What a check comes to, in numbers.

use std::collections::BTreeSet;

use super::Sheet;
use crate::archive::LeftOut;
use crate::findings::Level;

/// The numbers of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Summary {
    /// Files looked at.
    pub files: usize,
    /// Errors that nothing covers.
    pub errors: usize,
    /// Warnings that nothing covers.
    pub warnings: usize,
    /// Notes that nothing covers.
    pub notes: usize,
    /// Findings of any level that a waiver covers.
    pub waived: usize,
    /// Findings of any level that were accepted as they were.
    pub accepted: usize,
    /// Rules that looked at something.
    pub rules_looked: usize,
    /// Rules that lacked a fact on some plan.
    pub rules_lacking_facts: usize,
    /// Facts that rules lacked.
    pub facts_lacking: usize,
    /// Each diver's dives that are still to be dived.
    pub dives_planned: usize,
    /// Those of them that were simulated.
    pub dives_simulated: usize,
    /// Files that were to be read and could not be.
    pub files_unread: usize,
    /// Files that were left out, by reason.
    pub left_out: LeftOutNumbers,
}

/// How many files were left out for each reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct LeftOutNumbers([usize; LeftOut::ALL.len()]);

impl LeftOutNumbers {
    fn count(&mut self, why: LeftOut) {
        if let Some(count) = self.0.get_mut(why as usize) {
            *count += 1;
        }
    }

    /// Each reason that there is with its number, most usual first.
    pub(crate) fn each(&self) -> impl Iterator<Item = (LeftOut, usize)> {
        LeftOut::ALL.iter().copied().zip(self.0).filter(|(_, count)| *count > 0)
    }

    fn words(&self) -> String {
        let each: Vec<String> = self.each().map(|(why, count)| format!("{count} {}", why.words())).collect();
        each.join(", ")
    }
}

impl Summary {
    /// The numbers of a sheet.
    pub(crate) fn of(sheet: &Sheet) -> Summary {
        let mut summary = Summary::default();
        let mut lacking: BTreeSet<&str> = BTreeSet::new();
        for checked in sheet.checked() {
            summary.files += checked.report.files.len();
            // Every archive is looked at by the same rules.
            summary.rules_looked = summary.rules_looked.max(checked.report.rules_looked);
            summary.facts_lacking += checked.report.lacking.len();
            lacking.extend(checked.report.lacking.iter().flat_map(|fact| &fact.rules));
            summary.dives_planned += checked.report.dives.planned;
            summary.dives_simulated += checked.report.dives.simulated;
            summary.files_unread += checked.report.unread.len();
            checked.report.left_out.iter().for_each(|(_, why)| summary.left_out.count(*why));
        }
        summary.rules_lacking_facts = lacking.len();
        for finding in sheet.listed().iter().flat_map(|listed| &listed.findings) {
            match finding.level {
                _ if finding.waived.is_some() => summary.waived += 1,
                _ if finding.accepted => summary.accepted += 1,
                Level::Error => summary.errors += 1,
                Level::Warning => summary.warnings += 1,
                Level::Note => summary.notes += 1,
            }
        }
        summary
    }

    /// How many findings of at least a level stand.
    pub(crate) fn at_least(&self, level: Level) -> usize {
        match level {
            Level::Error => self.errors,
            Level::Warning => self.errors + self.warnings,
            Level::Note => self.errors + self.warnings + self.notes,
        }
    }

    /// The numbers in a sentence: `3 findings (2 errors, 1 note) in 4 files; 5 of 6 dives simulated, 2 facts
    /// lacking; left out: 1 ignored`.
    pub(crate) fn sentence(&self) -> String {
        let standing = self.at_least(Level::Note);
        let parts: Vec<String> = [(self.errors, "error"), (self.warnings, "warning"), (self.notes, "note")]
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| counted(count, word))
            .collect();
        let mut sentence = counted(standing, "finding");
        if !parts.is_empty() {
            sentence += &format!(" ({})", parts.join(", "));
        }
        let covered: Vec<String> = [(self.waived, "waived"), (self.accepted, "accepted")]
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| format!(" and {count} {word}"))
            .collect();
        sentence += &covered.concat();
        sentence += &format!(" in {}", counted(self.files, "file"));
        let mut more = Vec::new();
        if self.dives_planned > 0 {
            more.push(format!("{} of {} simulated", self.dives_simulated, counted(self.dives_planned, "dive")));
        }
        if self.facts_lacking > 0 {
            more.push(format!("{} lacking", counted(self.facts_lacking, "fact")));
        }
        if self.files_unread > 0 {
            more.push(format!("{} not read", counted(self.files_unread, "file")));
        }
        if !more.is_empty() {
            sentence += &format!("; {}", more.join(", "));
        }
        let left_out = self.left_out.words();
        if left_out.is_empty() { sentence } else { format!("{sentence}; left out: {left_out}") }
    }
}

/// A number with its noun, in the plural where it is one.
pub(crate) fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}
