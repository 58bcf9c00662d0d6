//! The archive: what files mean together, and that the same question always has the same answer.

mod merging;
mod names;
mod paths;
mod records;
mod same;
// Runs are counted in builds that check their own assertions.
#[cfg(debug_assertions)]
mod typing;
mod whole;

use std::sync::Arc;

use leadsman::archive::{Archive, Memory};
use leadsman::findings::Finding;
use leadsman::source::{FileId, Place};

/// An archive over files in memory.
pub fn archive(files: &[(&str, &str)]) -> Archive {
    let host = files.iter().fold(Memory::new(), |host, (path, text)| host.file(format!("/club/{path}"), text));
    Archive::open(Arc::new(host), "/club".as_ref())
}

/// A file by its path from the root.
pub fn id(path: &str) -> FileId {
    FileId::new(path)
}

/// What is written at a place.
pub fn written(archive: &Archive, place: &Place) -> String {
    archive.text(&place.file).unwrap().slice(place.span).to_owned()
}

/// The findings of one rule in a file, each as the text it is drawn under and its message.
pub fn said(archive: &Archive, file: &str, rule: &str) -> Vec<(String, String)> {
    let findings: Vec<Finding> = archive.findings(&id(file));
    let of_rule = findings.into_iter().filter(|finding| finding.rule == rule);
    of_rule.map(|finding| (written(archive, &finding.place), finding.message)).collect()
}
