//! The owner: one plain thread that holds the archives.
//!
//! It takes what the client says in order, applies it, and hands whatever has to be worked out to others with a
//! snapshot. It waits for nobody.

use std::collections::BTreeSet;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::sync::{Arc, Weak};
use std::time::{Duration, Instant};

use tokio::sync::watch;
use tower_lsp::ls_types::{TextDocumentContentChangeEvent, Uri};

use super::Log;
use super::abilities::Abilities;
use super::documents::{Snapshot, name_of};
use super::finder::Finder;
use super::outbox::Outbox;
use super::place;
use super::workers::{STACK, Workers};
use crate::archive::Host;
use crate::source::Text;
use crate::words::FileKind;

/// Notes that may lie before the owner; who leaves one more waits.
const NOTES: usize = 1024;
/// Notes that are taken at most before the archives are told.
const AT_ONCE: usize = 256;

/// A turn that takes longer is one that somebody who types has felt: it is logged.
const SLOW_TURN: Duration = Duration::from_millis(50);

/// What is logged of a turn in which so many notes were taken.
fn slow_turn(took: Duration, notes: usize) -> Option<String> {
    (took > SLOW_TURN).then(|| format!("a turn of the loop took {} ms; notes taken: {notes}", took.as_millis()))
}

/// What to do with a snapshot.
pub(super) type Ask = Box<dyn FnOnce(Snapshot) + Send>;

/// A note to the owner.
pub(super) enum Message {
    /// The client has said what it can do.
    Greeted(Abilities),
    /// A document was opened.
    Opened { uri: Uri, language: String, version: i32, text: String },
    /// A document was changed, in this order.
    Changed { uri: Uri, version: i32, changes: Vec<TextDocumentContentChangeEvent> },
    /// A document was closed.
    Closed(Uri),
    /// A document was saved.
    Saved,
    /// These files may have changed on disk.
    Touched(BTreeSet<PathBuf>),
    /// Folders were opened and closed.
    Folders { opened: Vec<PathBuf>, closed: Vec<PathBuf> },
    /// Somebody wants an answer worked out from all that was said before.
    Ask(Ask),
    /// The disk has been looked at: these files have changed.
    Looked(BTreeSet<PathBuf>),
}

/// The way to the owner. Cheap to clone; the owner ends when the last is gone.
#[derive(Debug, Clone)]
pub(super) struct MainLoop {
    notes: Arc<SyncSender<Message>>,
    changes: watch::Receiver<u64>,
}

impl MainLoop {
    /// Starts the owner.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(super) fn start(
        host: Arc<dyn Host>,
        finder: Finder,
        workers: Workers,
        outbox: Outbox,
        idle: Duration,
        log: Log,
    ) -> io::Result<MainLoop> {
        let (notes, taken) = sync_channel(NOTES);
        let notes = Arc::new(notes);
        let mut desk = State {
            snapshot: Snapshot::new(host),
            edited: BTreeSet::new(),
            closed: BTreeSet::new(),
            touched: BTreeSet::new(),
            finder,
            workers,
            outbox,
            back: Arc::downgrade(&notes),
            looking: false,
            changes: watch::Sender::new(0),
            look_again: false,
            log,
        };
        let changes = desk.changes.subscribe();
        let thread = std::thread::Builder::new().name("owner".to_owned()).stack_size(STACK);
        thread.spawn(move || desk.run(&taken, idle))?;
        Ok(MainLoop { notes, changes })
    }

    /// Counts how often anything has changed.
    pub(super) fn changes(&self) -> watch::Receiver<u64> {
        self.changes.clone()
    }

    /// Leaves a note.
    pub(super) fn note(&self, note: Message) {
        // Fails only where the owner is gone, and with it everything that could be told.
        let _ = self.notes.send(note);
    }
}

/// What the owner has before it.
struct State {
    snapshot: Snapshot,
    /// Documents opened or changed since the archives were told.
    edited: BTreeSet<Uri>,
    /// Paths of documents closed since.
    closed: BTreeSet<PathBuf>,
    /// Other files to be looked at again.
    touched: BTreeSet<PathBuf>,
    finder: Finder,
    workers: Workers,
    outbox: Outbox,
    /// The way back to here; it keeps nobody here.
    back: Weak<SyncSender<Message>>,
    /// Somebody is looking at the disk.
    looking: bool,
    /// How often anything has changed.
    changes: watch::Sender<u64>,
    /// And somebody should once more.
    look_again: bool,
    log: Log,
}

impl State {
    fn run(&mut self, notes: &Receiver<Message>, idle: Duration) {
        loop {
            let mut next = match notes.recv_timeout(idle) {
                Ok(note) => Some(note),
                Err(RecvTimeoutError::Timeout) => {
                    if !self.outbox.is_watching() || !self.snapshot.lies_in_folders() {
                        self.look();
                    }
                    None
                }
                Err(RecvTimeoutError::Disconnected) => return,
            };
            let (began, mut taken) = (Instant::now(), 0);
            while let Some(note) = next {
                // Whatever one note does to us, the next is still taken.
                let _ = catch_unwind(AssertUnwindSafe(|| self.take(note)));
                taken += 1;
                next = if taken < AT_ONCE { notes.try_recv().ok() } else { None };
            }
            let _ = catch_unwind(AssertUnwindSafe(|| self.settle()));
            if let Some(line) = slow_turn(began.elapsed(), taken) {
                (self.log)(&line);
            }
        }
    }

    fn take(&mut self, note: Message) {
        match note {
            Message::Greeted(abilities) => {
                self.snapshot.abilities = Arc::new(abilities);
                self.snapshot.open_folders();
            }
            Message::Opened { uri, language, version, text } => {
                if is_ours(&uri, &language) {
                    self.snapshot.open(&uri, version, Text::new(text));
                    self.edited.insert(uri);
                    self.look();
                }
            }
            Message::Changed { uri, version, changes } => self.change(uri, version, &changes),
            Message::Closed(uri) => {
                if self.snapshot.documents.contains_key(&uri) {
                    self.closed.extend(self.snapshot.close(&uri));
                    self.edited.insert(uri);
                }
            }
            Message::Saved => {
                let moved = self.snapshot.rehome();
                self.edited.extend(moved);
                self.look();
            }
            Message::Touched(paths) => self.touch(paths),
            Message::Folders { opened, closed } => {
                let abilities = Arc::make_mut(&mut self.snapshot.abilities);
                abilities.folders.retain(|folder| !closed.contains(folder));
                abilities.folders.extend(opened);
                self.snapshot.open_folders();
                self.changes.send_modify(|count| *count += 1);
            }
            Message::Ask(ask) => {
                self.settle();
                let snapshot = self.snapshot.clone();
                self.workers.take(Box::new(move || ask(snapshot)));
            }
            Message::Looked(changed) => {
                self.looking = false;
                self.touch(changed);
                if self.look_again {
                    self.look();
                }
            }
        }
    }

    /// Applies all of a message's changes in order, each to what the one before left.
    fn change(&mut self, uri: Uri, version: i32, changes: &[TextDocumentContentChangeEvent]) {
        if !self.snapshot.documents.contains_key(&uri) {
            return;
        }
        let encoding = self.snapshot.abilities.encoding;
        self.snapshot.edit(&uri, |document| {
            document.version = version;
            for change in changes {
                document.text = match change.range {
                    Some(range) => {
                        let span = place::span(&document.text, range, encoding);
                        document.text.edited(span, &change.text)
                    }
                    None => Text::new(&change.text),
                };
            }
        });
        self.edited.insert(uri);
    }

    fn touch(&mut self, paths: BTreeSet<PathBuf>) {
        let is_root = |path: &PathBuf| path.file_name().is_some_and(|name| name == "leadsman.kdl");
        if paths.iter().any(is_root) {
            let moved = self.snapshot.rehome();
            self.edited.extend(moved);
        }
        self.touched.extend(paths);
    }

    /// Has somebody look whether files that open documents use have changed on disk.
    fn look(&mut self) {
        self.look_again = true;
        if self.looking {
            return;
        }
        self.settle();
        if self.snapshot.documents.is_empty() {
            return;
        }
        (self.looking, self.look_again) = (true, false);
        let (snapshot, back) = (self.snapshot.clone(), self.back.clone());
        self.workers.take(Box::new(move || {
            let changed = catch_unwind(AssertUnwindSafe(|| snapshot.changed_on_disk()));
            if let Some(back) = back.upgrade() {
                let _ = back.send(Message::Looked(changed.unwrap_or_default()));
            }
        }));
    }

    /// Tells the archives and the finder what has changed.
    fn settle(&mut self) {
        if self.edited.is_empty() && self.closed.is_empty() && self.touched.is_empty() {
            return;
        }
        let (edited, closed) = (std::mem::take(&mut self.edited), std::mem::take(&mut self.closed));
        let touched = std::mem::take(&mut self.touched);
        self.snapshot.settle(&edited, &closed, &touched);
        self.changes.send_modify(|count| *count += 1);
        let open = edited.iter().filter_map(|uri| self.snapshot.documents.get(uri)?.path.clone());
        let changed = open.chain(closed).chain(touched).collect();
        self.finder.tell(self.snapshot.clone(), edited, changed);
    }
}

/// Whether a document is one of ours: by its name, or by the language that its editor gives it.
fn is_ours(uri: &Uri, language: &str) -> bool {
    language == "leadsman" || FileKind::of_name(&name_of(uri)).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turn_that_somebody_felt_is_logged() {
        assert_eq!(slow_turn(SLOW_TURN, 3), None);
        let line = slow_turn(Duration::from_micros(81_700), 3);
        assert_eq!(line.as_deref(), Some("a turn of the loop took 81 ms; notes taken: 3"));
    }
}
