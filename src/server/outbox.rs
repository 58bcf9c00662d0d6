//! The outbox: the one task that speaks to the client of its own accord.
//!
//! Whoever has something to say leaves it here and goes on; of each document only the newest findings are kept, so a
//! client that never reads costs one set of findings a document.

use std::collections::{HashMap, VecDeque};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use serde_json::json;
use tokio::sync::Notify;
use tower_lsp::Client;
use tower_lsp::ls_types::{Diagnostic, Registration, Uri};

use super::outgoing::Outgoing;
use crate::findings::ACCEPTED;

/// How long the client may take to answer before it is asked the same again.
const PATIENCE: Duration = Duration::from_secs(10);

/// What waits to be said. Cheap to clone.
#[derive(Debug, Clone, Default)]
pub(super) struct Outbox {
    shared: Arc<Shared>,
}

#[derive(Debug, Default)]
struct Shared {
    waiting: Mutex<Waiting>,
    filled: Notify,
    watching: AtomicBool,
}

#[derive(Debug, Default)]
struct Waiting {
    /// Documents with findings to be told, longest waiting first.
    order: VecDeque<Uri>,
    findings: HashMap<Uri, Findings>,
    /// Whether the client is to ask for findings again, and for hints.
    again: [Again; 2],
    /// The client is to watch files.
    watch: bool,
}

/// Something that the client is to ask for again.
#[derive(Debug, Clone, Copy, Default)]
struct Again {
    /// It is to be told so.
    wanted: bool,
    /// It has been told so and hasn't answered yet.
    under_way: bool,
}

/// What a client may be told to ask for again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Refresh {
    /// Findings of all documents.
    Findings,
    /// Inlay hints of all documents.
    Hints,
}

/// The findings of one document as the client is told them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Findings {
    /// The version of the document they are of; none where it is closed.
    pub version: Option<i32>,
    /// The findings.
    pub diagnostics: Vec<Diagnostic>,
}

enum Word {
    Findings(Uri, Findings),
    Refresh(Refresh),
    Watch,
}

impl Outbox {
    /// Leaves the findings of a document, in place of any that wait.
    pub(super) fn findings(&self, uri: Uri, findings: Findings) {
        let mut waiting = self.lock();
        if waiting.findings.insert(uri.clone(), findings).is_none() {
            waiting.order.push_back(uri);
        }
        self.shared.filled.notify_one();
    }

    /// The same of a document that somebody types in: before whatever else waits.
    pub(super) fn findings_at_once(&self, uri: Uri, findings: Findings) {
        let mut waiting = self.lock();
        if waiting.findings.insert(uri.clone(), findings).is_some() {
            waiting.order.retain(|other| *other != uri);
        }
        waiting.order.push_front(uri);
        self.shared.filled.notify_one();
    }

    /// Asks the client to ask for something again.
    pub(super) fn refresh(&self, what: Refresh) {
        self.lock().again[what as usize].wanted = true;
        self.shared.filled.notify_one();
    }

    /// Asks the client to watch the files of archives.
    pub(super) fn watch(&self) {
        self.lock().watch = true;
        self.shared.filled.notify_one();
    }

    /// Whether the client watches files.
    pub(super) fn is_watching(&self) -> bool {
        self.shared.watching.load(Ordering::SeqCst)
    }

    fn lock(&self) -> MutexGuard<'_, Waiting> {
        self.shared.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next thing to say.
    fn take(&self) -> Option<Word> {
        let mut waiting = self.lock();
        if std::mem::take(&mut waiting.watch) {
            return Some(Word::Watch);
        }
        for what in [Refresh::Findings, Refresh::Hints] {
            let again = &mut waiting.again[what as usize];
            if again.wanted && !again.under_way {
                *again = Again { wanted: false, under_way: true };
                return Some(Word::Refresh(what));
            }
        }
        let uri = waiting.order.pop_front()?;
        let findings = waiting.findings.remove(&uri)?;
        Some(Word::Findings(uri, findings))
    }

    /// Says what is left here, as the client reads.
    pub(super) async fn run(self, client: Client, outgoing: Outgoing) {
        loop {
            self.shared.filled.notified().await;
            loop {
                // What waits here may yet be replaced; what is on its way may not.
                outgoing.drained().await;
                match self.take() {
                    None => break,
                    Some(Word::Findings(uri, findings)) => {
                        client.publish_diagnostics(uri, findings.diagnostics, findings.version).await;
                    }
                    Some(Word::Refresh(what)) => drop(tokio::spawn(self.clone().ask_again(client.clone(), what))),
                    Some(Word::Watch) => drop(tokio::spawn(self.clone().ask_to_watch(client.clone()))),
                }
            }
        }
    }

    async fn ask_again(self, client: Client, what: Refresh) {
        let asked = async {
            match what {
                Refresh::Findings => client.workspace_diagnostic_refresh().await,
                Refresh::Hints => client.inlay_hint_refresh().await,
            }
        };
        // Refused or not answered, there is nothing else to do about it.
        let _ = tokio::time::timeout(PATIENCE, asked).await;
        self.lock().again[what as usize].under_way = false;
        self.shared.filled.notify_one();
    }

    async fn ask_to_watch(self, client: Client) {
        let accepted = format!("**/{ACCEPTED}");
        let globs = ["**/*.plan.kdl", "**/*.kit.kdl", "**/leadsman.kdl", &accepted];
        let watchers = globs.map(|glob| json!({ "globPattern": glob }));
        let registration = Registration {
            id: "watch".to_owned(),
            method: "workspace/didChangeWatchedFiles".to_owned(),
            register_options: Some(json!({ "watchers": watchers })),
        };
        let watching = client.register_capability(vec![registration]).await.is_ok();
        self.shared.watching.store(watching, Ordering::SeqCst);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn said(outbox: &Outbox) -> Vec<(String, Option<i32>)> {
        let mut all = Vec::new();
        while let Some(word) = outbox.take() {
            if let Word::Findings(uri, findings) = word {
                all.push((uri.to_string(), findings.version));
            }
        }
        all
    }

    #[test]
    fn only_the_newest_findings_of_a_document_wait() {
        let outbox = Outbox::default();
        let (one, two): (Uri, Uri) = ("file:///a".parse().unwrap(), "file:///b".parse().unwrap());
        for version in 0..1_000 {
            outbox.findings(one.clone(), Findings { version: Some(version), diagnostics: Vec::new() });
            outbox.findings(two.clone(), Findings { version: Some(-version), diagnostics: Vec::new() });
        }
        assert_eq!(said(&outbox), [("file:///a".to_owned(), Some(999)), ("file:///b".to_owned(), Some(-999))]);
        assert_eq!(said(&outbox), []);
    }

    #[test]
    fn what_is_typed_goes_before_whatever_waits() {
        let outbox = Outbox::default();
        let uri = |number: usize| -> Uri { format!("file:///{number}").parse().unwrap() };
        let of = |version: i32| Findings { version: Some(version), diagnostics: Vec::new() };
        (0..1_000).for_each(|number| outbox.findings(uri(number), of(0)));
        outbox.findings_at_once(uri(700), of(1));
        outbox.findings_at_once(uri(2_000), of(2));
        let all = said(&outbox);
        assert_eq!(all[..2], [("file:///2000".to_owned(), Some(2)), ("file:///700".to_owned(), Some(1))]);
        assert_eq!(all.len(), 1_001);
    }

    #[test]
    fn a_client_is_asked_to_refresh_once_at_a_time() {
        let outbox = Outbox::default();
        let refreshed = |what: Refresh| matches!(outbox.take(), Some(Word::Refresh(said)) if said == what);
        outbox.refresh(Refresh::Findings);
        assert!(refreshed(Refresh::Findings));
        outbox.refresh(Refresh::Findings);
        assert!(outbox.take().is_none(), "not before it has answered");
        outbox.refresh(Refresh::Hints);
        assert!(refreshed(Refresh::Hints), "the one does not wait for the other");
        outbox.lock().again[Refresh::Findings as usize].under_way = false;
        assert!(refreshed(Refresh::Findings));
        assert!(outbox.take().is_none());
    }
}
