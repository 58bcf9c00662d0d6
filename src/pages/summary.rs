//! What a check comes to, in numbers.

use super::Sheet;
use crate::findings::Level;

/// The numbers of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Summary {
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
}

impl Summary {
    /// The numbers of a sheet.
    pub fn of(sheet: &Sheet) -> Summary {
        let mut summary = Summary::default();
        for checked in sheet.checked() {
            summary.files += checked.report.files.len();
            // Every archive is looked at by the same rules.
            summary.rules_looked = summary.rules_looked.max(checked.report.rules_looked);
            summary.rules_lacking_facts = summary.rules_lacking_facts.max(checked.report.rules_lacking_facts);
        }
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
    pub fn at_least(&self, level: Level) -> usize {
        match level {
            Level::Error => self.errors,
            Level::Warning => self.errors + self.warnings,
            Level::Note => self.errors + self.warnings + self.notes,
        }
    }

    /// The numbers in a sentence: `3 findings (2 errors, 1 note) in 4 files; 21 rules looked, 2 lacked facts`.
    pub fn sentence(&self) -> String {
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
        let lacked = match self.rules_lacking_facts {
            0 => "none lacked facts".to_owned(),
            lacked => format!("{lacked} lacked facts"),
        };
        let files = counted(self.files, "file");
        sentence + &format!(" in {files}; {} looked, {lacked}", counted(self.rules_looked, "rule"))
    }
}

/// A number with its noun, in the plural where it is one.
pub(crate) fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}
