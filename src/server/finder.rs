//! The finder: the thread that works findings out as the client types.
//!
//! Documents being typed come first, then open documents that depend on what has changed. Each is worked out from the
//! newest snapshot, so that a burst of edits costs one look.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use tower_lsp::ls_types::{Diagnostic, Uri};

use super::documents::Snapshot;
use super::feature::diagnostics;
use super::outbox::{Findings, Outbox, Refresh};
use super::workers::STACK;

/// The way to the finder. Cheap to clone; the finder ends when the last is gone.
#[derive(Debug, Clone)]
pub(super) struct Finder {
    shared: Arc<Handle>,
}

#[derive(Debug)]
struct Handle {
    shared: Arc<Shared>,
}

impl Drop for Handle {
    fn drop(&mut self) {
        self.shared.lock().ended = true;
        self.shared.filled.notify_one();
    }
}

#[derive(Debug, Default)]
struct Shared {
    ahead: Mutex<Ahead>,
    filled: Condvar,
}

/// What lies ahead.
#[derive(Debug, Default)]
struct Ahead {
    snapshot: Option<Snapshot>,
    /// Documents that were opened, changed or closed.
    first: VecDeque<Uri>,
    /// Files that have changed, their dependants not yet looked up.
    changed: BTreeSet<PathBuf>,
    /// Documents that depend on something changed.
    behind: VecDeque<Uri>,
    ended: bool,
}

enum Next {
    /// A document to look at.
    Look(Snapshot, Uri, Why),
    /// Dependants to look up.
    Spread(Snapshot, BTreeSet<PathBuf>),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Why {
    Edited,
    Depends,
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Ahead> {
        self.ahead.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn next(&self) -> Option<Next> {
        let mut ahead = self.lock();
        loop {
            if ahead.ended {
                return None;
            }
            if let Some(snapshot) = ahead.snapshot.clone() {
                if let Some(uri) = ahead.first.pop_front() {
                    return Some(Next::Look(snapshot, uri, Why::Edited));
                }
                if !ahead.changed.is_empty() {
                    return Some(Next::Spread(snapshot, std::mem::take(&mut ahead.changed)));
                }
                if let Some(uri) = ahead.behind.pop_front() {
                    return Some(Next::Look(snapshot, uri, Why::Depends));
                }
                // Nothing ahead: old texts need not be kept.
                ahead.snapshot = None;
            }
            ahead = self.filled.wait(ahead).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

impl Finder {
    /// Starts the finder.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(super) fn start(outbox: Outbox, pulled: Pulled) -> io::Result<Finder> {
        let shared = Arc::new(Shared::default());
        let mut desk = FinderState { shared: shared.clone(), outbox, pulled, known: BTreeMap::new() };
        let thread = std::thread::Builder::new().name("finder".to_owned()).stack_size(STACK);
        thread.spawn(move || desk.run())?;
        Ok(Finder { shared: Arc::new(Handle { shared }) })
    }

    /// Tells of documents that were opened, changed or closed, and of the files that changed thereby or otherwise.
    pub(super) fn tell(&self, snapshot: Snapshot, edited: BTreeSet<Uri>, changed: BTreeSet<PathBuf>) {
        let mut ahead = self.shared.shared.lock();
        ahead.snapshot = Some(snapshot);
        ahead.behind.retain(|uri| !edited.contains(uri));
        ahead.first.retain(|uri| !edited.contains(uri));
        // What is typed now goes before what was typed before.
        for uri in edited {
            ahead.first.push_front(uri);
        }
        ahead.changed.extend(changed);
        self.shared.shared.filled.notify_one();
    }
}

/// Which findings the client was last given when it asked, by document. Cheap to clone.
#[derive(Debug, Clone, Default)]
pub(super) struct Pulled {
    results: Arc<Mutex<BTreeMap<Uri, String>>>,
}

impl Pulled {
    /// Remembers what the client was given.
    pub(super) fn given(&self, uri: Uri, result: String) {
        self.results.lock().unwrap_or_else(PoisonError::into_inner).insert(uri, result);
    }

    fn has(&self, uri: &Uri, result: &str) -> bool {
        self.results.lock().unwrap_or_else(PoisonError::into_inner).get(uri).is_some_and(|given| given == result)
    }

    fn forget(&self, uri: &Uri) {
        self.results.lock().unwrap_or_else(PoisonError::into_inner).remove(uri);
    }
}

/// What is known of an open document.
#[derive(Debug, Default)]
struct Known {
    /// The files it saw when it was last looked at.
    seen: BTreeSet<PathBuf>,
    /// The findings it was last said to have.
    said: Option<Findings>,
}

struct FinderState {
    shared: Arc<Shared>,
    outbox: Outbox,
    pulled: Pulled,
    known: BTreeMap<Uri, Known>,
}

impl FinderState {
    fn run(&mut self) {
        while let Some(next) = self.shared.next() {
            // A rule that panics on one text costs the findings of that text.
            let _ = catch_unwind(AssertUnwindSafe(|| match next {
                Next::Look(snapshot, uri, why) => self.look(&snapshot, uri, why),
                Next::Spread(snapshot, changed) => self.spread(&snapshot, &changed),
            }));
        }
    }

    fn spread(&mut self, snapshot: &Snapshot, changed: &BTreeSet<PathBuf>) {
        let mut depend = Vec::new();
        for (uri, seen) in snapshot.sights() {
            let known = self.known.entry(uri.clone()).or_default();
            // What it saw before counts too: the change may be that a file is gone.
            let meets = changed.iter().any(|path| seen.contains(path) || known.seen.contains(path));
            // A root file that is new was seen by nobody yet.
            let house = changed.iter().any(|path| path.file_name().is_some_and(|name| name == "leadsman.kdl"));
            known.seen = seen;
            let itself = snapshot.documents.get(uri).and_then(|document| document.path.as_ref());
            let only_itself = changed.len() == 1 && itself.is_some_and(|path| changed.contains(path));
            if (meets || house) && !only_itself {
                depend.push(uri.clone());
            }
        }
        let mut ahead = self.shared.lock();
        for uri in depend {
            if !ahead.behind.contains(&uri) {
                ahead.behind.push_back(uri);
            }
        }
        // Told meanwhile or not, there is a newest snapshot to go on from.
        ahead.snapshot.get_or_insert_with(|| snapshot.clone());
    }

    fn look(&mut self, snapshot: &Snapshot, uri: Uri, why: Why) {
        let Some(document) = snapshot.documents.get(&uri) else {
            self.known.remove(&uri);
            self.pulled.forget(&uri);
            if !snapshot.abilities.pulls {
                self.outbox.findings(uri, Findings { version: None, diagnostics: Vec::new() });
            }
            return;
        };
        let pulls = snapshot.abilities.pulls;
        if why == Why::Depends && snapshot.abilities.refreshes_hints {
            self.outbox.refresh(Refresh::Hints);
        }
        if pulls && why == Why::Edited {
            // The client knows that it changed this one, and asks.
            return;
        }
        let diagnostics: Vec<Diagnostic> = snapshot.here(&uri).map(|here| diagnostics::of(&here)).unwrap_or_default();
        if pulls {
            if !self.pulled.has(&uri, &diagnostics::result_id(&diagnostics)) {
                self.outbox.refresh(Refresh::Findings);
            }
            return;
        }
        let findings = Findings { version: Some(document.version), diagnostics };
        let known = self.known.entry(uri.clone()).or_default();
        if known.said.as_ref() != Some(&findings) {
            known.said = Some(findings.clone());
            match why {
                Why::Edited => self.outbox.findings_at_once(uri, findings),
                Why::Depends => self.outbox.findings(uri, findings),
            }
        }
    }
}
