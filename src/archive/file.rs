//! One file of an archive and what can be known of it alone; each step is taken when first asked for and kept.

use std::sync::{Arc, OnceLock};

use super::HostError;
use super::index::Summary;
use jiff::civil::Date;

use crate::plan::lower::FileWord;
use crate::source::{FileId, Text};
use crate::syntax::{Tree, Value};
use crate::words::{FileKind, Slip, check};

/// A file as it was read. Two values of one file are the same exactly when nothing about it has changed.
#[derive(Debug)]
pub(super) struct File {
    pub id: FileId,
    pub text: Result<Text, HostError>,
    word: OnceLock<Arc<FileWord>>,
    slips: OnceLock<Vec<Slip>>,
    summary: OnceLock<Summary>,
}

impl File {
    pub fn new(id: FileId, text: Result<Text, HostError>) -> File {
        File { id, text, word: OnceLock::new(), slips: OnceLock::new(), summary: OnceLock::new() }
    }

    /// The kind of the file by its name; a file of any other name is read as a plan.
    pub fn kind(&self) -> FileKind {
        kind_of(&self.id)
    }

    /// What the file says, if it could be read.
    pub fn word(&self) -> Option<&Arc<FileWord>> {
        let text = self.text.as_ref().ok()?;
        Some(self.word.get_or_init(|| Arc::new(FileWord::read(self.id.clone(), Tree::parse(text.as_str())))))
    }

    pub fn tree(&self) -> Option<&Tree> {
        self.word().map(|word| &word.source.tree)
    }

    /// What it says that others may care for; nothing of a file that can't be read.
    pub fn summary(&self) -> &Summary {
        self.summary.get_or_init(|| self.word().map(|word| Summary::of(word, self.day())).unwrap_or_default())
    }

    /// The day that the file's first plan is on.
    fn day(&self) -> Option<Date> {
        let tree = self.tree()?;
        let plan = tree.roots().find(|node| tree.name(*node).text == "plan")?;
        let on = tree.entries(plan).find(|entry| entry.key.as_ref().is_some_and(|key| key.text == "on"))?;
        match on.value {
            Value::Text(day) => day.parse().ok(),
            _ => None,
        }
    }

    /// What doesn't fit the vocabulary.
    pub fn slips(&self) -> &[Slip] {
        self.slips.get_or_init(|| self.tree().map(|tree| check(tree, self.kind())).unwrap_or_default())
    }

    /// Whether another reading of the file found the same.
    pub fn is_as(&self, text: &Result<Text, HostError>) -> bool {
        match (&self.text, text) {
            (Ok(one), Ok(other)) => one.hash() == other.hash() && one.is_lossy() == other.is_lossy(),
            (Err(one), Err(other)) => one.source.kind() == other.source.kind(),
            _ => false,
        }
    }
}

/// The kind of a file by its name; a file of any other name is read as a plan.
pub(super) fn kind_of(id: &FileId) -> FileKind {
    named_kind(id).unwrap_or(FileKind::Plan)
}

/// The kind of a file by its name, if it has a name of the language's.
pub(super) fn named_kind(id: &FileId) -> Option<FileKind> {
    let path = id.as_str();
    FileKind::of_name(path.rfind('/').map_or(path, |at| &path[at + 1..]))
}
