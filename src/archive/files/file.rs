//! One file of an archive and what can be known of it alone; each step is taken when first asked for and kept.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::HostError;
use super::fingerprint::Fingerprint;
use super::summary::{Summary, kind_of};
use crate::plan::lower::ParsedFile;
use crate::source::{FileId, Text};
use crate::syntax::Tree;
use crate::words::FileKind;

/// A file as it was read. Two values of one file are the same exactly when nothing about it has changed.
#[derive(Debug)]
pub(in crate::archive) struct File {
    pub id: FileId,
    pub text: Result<Text, HostError>,
    word: Mutex<Option<Arc<ParsedFile>>>,
    summary: OnceLock<Summary>,
    fingerprint: OnceLock<Fingerprint>,
}

impl File {
    pub(crate) fn new(id: FileId, text: Result<Text, HostError>) -> File {
        File { id, text, word: Mutex::new(None), summary: OnceLock::new(), fingerprint: OnceLock::new() }
    }

    /// The kind of the file by its name; a file of any other name is read as a plan.
    pub(crate) fn kind(&self) -> FileKind {
        kind_of(&self.id)
    }

    /// Stands for what was read, the cause among it where nothing could be.
    pub(crate) fn fingerprint(&self) -> Fingerprint {
        *self.fingerprint.get_or_init(|| match &self.text {
            Ok(text) if text.is_lossy() => *blake3::hash(&[b"lossy", &text.hash().as_bytes()[..]].concat()).as_bytes(),
            Ok(text) => *text.hash().as_bytes(),
            Err(error) => *blake3::hash(format!("unread: {:?}", error.source.kind()).as_bytes()).as_bytes(),
        })
    }

    /// Takes what it says that others may care for from one who knows.
    pub(crate) fn knowing(self, summary: Option<&Summary>) -> File {
        if let Some(summary) = summary {
            // The cell is new, so nothing is in it yet.
            let _ = self.summary.set(summary.clone());
        }
        self
    }

    /// Bytes of its text.
    pub(crate) fn size(&self) -> usize {
        self.text.as_ref().map_or(0, |text| text.as_str().len())
    }

    /// What the file says, if it could be read; kept until [`File::forget`].
    pub(crate) fn word(&self) -> Option<Arc<ParsedFile>> {
        let text = self.text.as_ref().ok()?;
        let known = || self.word.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(word) = known().as_ref() {
            return Some(word.clone());
        }
        // Read outside the lock; should two threads meet here, they read the same.
        let word = Arc::new(self.read(text));
        Some(known().get_or_insert(word).clone())
    }

    fn read(&self, text: &Text) -> ParsedFile {
        ParsedFile::read(self.id.clone(), Tree::parse(text.as_str()))
    }

    /// Lets go of what the file says; it is read again when asked for.
    pub(crate) fn forget(&self) {
        *self.word.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }

    /// What it says that others may care for; nothing of a file that can't be read.
    pub(crate) fn summary(&self) -> &Summary {
        self.summary.get_or_init(|| {
            let known = self.word.lock().unwrap_or_else(PoisonError::into_inner).clone();
            // Of thousands of plans nobody may ask for more than this, so what is read for it is not kept.
            let word = known.or_else(|| Some(Arc::new(self.read(self.text.as_ref().ok()?))));
            word.map(|word| Summary::of(&word)).unwrap_or_default()
        })
    }

    /// Whether another reading of the file found the same.
    pub(crate) fn is_as(&self, text: &Result<Text, HostError>) -> bool {
        match (&self.text, text) {
            (Ok(one), Ok(other)) => one.hash() == other.hash() && one.is_lossy() == other.is_lossy(),
            (Err(one), Err(other)) => one.source.kind() == other.source.kind(),
            _ => false,
        }
    }
}
