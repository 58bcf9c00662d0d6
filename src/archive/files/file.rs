//! One file of an archive and what can be known of it alone; each step is taken when first asked for and kept.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::HostError;
use super::door::Door;
use super::fingerprint::Fingerprint;
use super::stamp::Stamp;
use super::summary::{Summary, kind_of};
use crate::plan::lower::ParsedFile;
use crate::source::{FileId, Text};
use crate::syntax::Tree;
use crate::words::FileKind;

/// A file as it was read. Two values of one file are the same exactly when nothing about it has changed.
#[derive(Debug)]
pub(in crate::archive) struct File {
    pub id: FileId,
    text: OnceLock<Result<Text, HostError>>,
    door: Arc<Door>,
    /// What stood for the text when the file last bore the stamp that it bears.
    told: Option<Fingerprint>,
    stamp: Option<Stamp>,
    word: Mutex<Option<Arc<ParsedFile>>>,
    summary: OnceLock<Arc<Summary>>,
    fingerprint: OnceLock<Fingerprint>,
}

impl File {
    fn unread(id: FileId, door: Arc<Door>) -> File {
        File {
            id,
            text: OnceLock::new(),
            door,
            told: None,
            stamp: None,
            word: Mutex::new(None),
            summary: OnceLock::new(),
            fingerprint: OnceLock::new(),
        }
    }

    /// A file that was read, or could not be.
    pub(crate) fn new(id: FileId, text: Result<Text, HostError>, door: Arc<Door>) -> File {
        File { text: OnceLock::from(text), ..File::unread(id, door) }
    }

    /// A file that nobody has written to since it was read last; it is opened when somebody asks for its text.
    pub(crate) fn unopened(id: FileId, stamp: Stamp, fingerprint: Fingerprint, door: Arc<Door>) -> File {
        File { stamp: Some(stamp), told: Some(fingerprint), ..File::unread(id, door) }
    }

    /// With the stamp that it bore before it was read.
    pub(crate) fn stamped(self, stamp: Option<Stamp>) -> File {
        File { stamp, ..self }
    }

    /// What the file bore when it was looked at, if it was left alone for long enough.
    pub(crate) fn stamp(&self) -> Option<Stamp> {
        self.stamp
    }

    /// The kind of the file by its name; a file of any other name is read as a plan.
    pub(crate) fn kind(&self) -> FileKind {
        kind_of(&self.id)
    }

    /// The file's text, or what keeps it from being read.
    pub(crate) fn text(&self) -> &Result<Text, HostError> {
        self.text.get_or_init(|| self.door.text(&self.id))
    }

    /// Stands for what was read, the cause among it where nothing could be.
    pub(crate) fn fingerprint(&self) -> Fingerprint {
        // Once it was read what was read counts, whatever its stamp has told.
        match self.told {
            Some(told) if self.text.get().is_none() => told,
            _ => *self.fingerprint.get_or_init(|| fingerprint_of(self.text())),
        }
    }

    /// Takes what it says that others may care for from one who knows.
    pub(crate) fn knowing(self, summary: Option<&Arc<Summary>>) -> File {
        if let Some(summary) = summary {
            // The cell is new, so nothing is in it yet.
            let _ = self.summary.set(summary.clone());
        }
        self
    }

    /// Bytes of its text.
    pub(crate) fn size(&self) -> usize {
        match (self.text.get(), self.stamp) {
            (None, Some(stamp)) => usize::try_from(stamp.size()).unwrap_or(usize::MAX),
            _ => self.text().as_ref().map_or(0, |text| text.as_str().len()),
        }
    }

    /// What the file says, if it could be read; kept until [`File::forget`].
    pub(crate) fn word(&self) -> Option<Arc<ParsedFile>> {
        let text = self.text().as_ref().ok()?;
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
    pub(crate) fn summary(&self) -> &Arc<Summary> {
        self.summary.get_or_init(|| {
            let known = self.word.lock().unwrap_or_else(PoisonError::into_inner).clone();
            // Of thousands of plans nobody may ask for more than this, so what is read for it is not kept.
            let outline = || {
                let text = self.text().as_ref().ok()?;
                Some(Arc::new(ParsedFile::outline(self.id.clone(), Tree::parse(text.as_str()))))
            };
            let word = known.or_else(outline);
            Arc::new(word.map(|word| Summary::of(&word)).unwrap_or_default())
        })
    }

    /// Whether another reading of the file found the same.
    pub(crate) fn is_as(&self, text: &Result<Text, HostError>) -> bool {
        match (self.text(), text) {
            (Ok(one), Ok(other)) => one.hash() == other.hash() && one.is_lossy() == other.is_lossy(),
            (Err(one), Err(other)) => one.source.kind() == other.source.kind(),
            _ => false,
        }
    }
}

fn fingerprint_of(text: &Result<Text, HostError>) -> Fingerprint {
    match text {
        Ok(text) if text.is_lossy() => *blake3::hash(&[b"lossy", &text.hash().as_bytes()[..]].concat()).as_bytes(),
        Ok(text) => *text.hash().as_bytes(),
        Err(error) => *blake3::hash(format!("unread: {:?}", error.source.kind()).as_bytes()).as_bytes(),
    }
}
