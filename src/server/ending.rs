//! How the server ends.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use tokio::sync::watch;

/// What remains to be done when the client says `exit`: the last answers are on their way.
const GRACE_AFTER_EXIT: Duration = Duration::from_millis(300);
/// What remains to be done when the client says no more: it may still read the answers to what it asked.
const GRACE_AFTER_CLOSE: Duration = Duration::from_secs(5);

/// Whether, and how, the client has taken its leave.
#[derive(Debug)]
pub(super) struct Ending {
    shut_down: AtomicBool,
    grace: watch::Sender<Option<Duration>>,
}

impl Ending {
    /// No end in sight.
    pub(super) fn new() -> Ending {
        Ending { shut_down: AtomicBool::new(false), grace: watch::Sender::new(None) }
    }

    /// The client has asked to shut down, and was answered.
    pub(super) fn shut_down(&self) {
        self.shut_down.store(true, Ordering::SeqCst);
    }

    /// The client has said `exit`.
    pub(super) fn exit(&self) {
        self.grace.send_replace(Some(GRACE_AFTER_EXIT));
    }

    /// There is no more to read from the client.
    pub(super) fn closed(&self) {
        self.grace.send_modify(|grace| *grace = grace.or(Some(GRACE_AFTER_CLOSE)));
    }

    /// Whether the client shut the server down first, as it should.
    pub(super) fn is_orderly(&self) -> bool {
        self.shut_down.load(Ordering::SeqCst)
    }

    /// Waits until the grace after the client's leave has passed.
    pub(super) async fn passed(&self) {
        let mut leave = self.grace.subscribe();
        loop {
            let grace = *leave.borrow_and_update();
            let changed = async {
                if leave.changed().await.is_err() {
                    std::future::pending().await
                }
            };
            match grace {
                None => changed.await,
                Some(grace) => tokio::select! {
                    () = tokio::time::sleep(grace) => return,
                    () = changed => {}
                },
            }
        }
    }
}
