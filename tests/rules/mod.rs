//! Every rule against its own plans: what must raise it, what must not, what its fixes do, what its page shows.
//!
//! `tests/rules/<slug>/` holds the cases: a file, or a folder that is an archive of its own. `bad-…` must raise the
//! rule, `good-…` must not. What a bad case says is kept beside it as a snapshot, and a case at a boundary says in a
//! comment under the value what is expected there (`marks`).

mod cases;
mod days;
mod deletion;
mod good;
mod inputs;
mod marks;
mod mended;
mod messages;
mod monotony;
mod pages;
mod simulated;
mod year;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use leadsman::archive::{Archive, Change, Disk};
use leadsman::findings::{Finding, Level};
use leadsman::source::{Encoding, FileId, Text};

/// The folder of all rules' cases.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/rules")
}

/// An archive over texts that are nowhere on disk.
pub fn unsaved(files: &[(String, String)]) -> (Archive, Vec<FileId>) {
    let root = folder().join("there-is-no-such-folder");
    let ids: Vec<FileId> = files.iter().map(|(name, _)| FileId::new(name)).collect();
    let open = files.iter().map(|(name, text)| Change::Open(FileId::new(name), Text::new(text)));
    (Archive::open(Arc::new(Disk), &root).with(&open.collect::<Vec<_>>()), ids)
}

/// All findings of some files.
pub fn findings(archive: &Archive, files: &[FileId]) -> Vec<Finding> {
    files.iter().flat_map(|file| archive.findings(file)).collect()
}

/// A finding above a note that no waiver covers.
pub fn counts(finding: &Finding) -> bool {
    finding.waived.is_none() && finding.level > Level::Note
}

/// One finding as a few lines of text.
pub fn told(archive: &Archive, finding: &Finding) -> String {
    let shown = |place: &leadsman::source::Place| {
        let text = archive.text(&place.file).unwrap();
        let at = text.position(place.span.start, Encoding::Utf32);
        format!("{}:{}:{} `{}`", place.file, at.line + 1, at.column + 1, text.slice(place.span).replace('\n', "⏎"))
    };
    let waived = finding.waived.as_ref().map_or(String::new(), |waived| format!(" (waived: {})", waived.because));
    let mut told = format!("{} {}{waived}\n  at {}\n", finding.level.word(), finding.rule, shown(&finding.place));
    told += &format!("  {}\n", finding.message);
    for related in &finding.related {
        told += &format!("  see {}: {}\n", shown(&related.place), related.message);
    }
    for step in &finding.working {
        told += &format!("  {} = {} = {}\n", step.formula, step.numbers, step.result);
    }
    for fix in &finding.fixes {
        told += &format!("  {:?}: {}\n", fix.kind, fix.title);
        for edit in &fix.edits {
            told += &format!("    {} → `{}`\n", shown(&edit.place), edit.text.replace('\n', "⏎"));
        }
    }
    told
}
