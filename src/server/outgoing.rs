//! What the client is told.
//!
//! The transport writes into memory and a thread of its own writes to the client, so that a client that reads slowly,
//! or not at all, holds nothing up until [`MOST`] lies unread.

use std::io::{self, Write};
use std::pin::Pin;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll, Waker};

use tokio::io::AsyncWrite;
use tokio::sync::Notify;

/// Bytes that may lie unread before the server reads no further messages. Answers alone come to this, each asked for by
/// the client: findings wait in the outbox.
const MOST: usize = 32 * 1024 * 1024;

/// The way to the client. Cheap to clone.
#[derive(Debug, Clone)]
pub(super) struct Outgoing {
    shared: Arc<Shared>,
}

#[derive(Debug, Default)]
struct Shared {
    state: Mutex<State>,
    filled: Condvar,
    drained: Notify,
}

#[derive(Debug, Default)]
struct State {
    unread: Vec<u8>,
    /// The thread is writing what it took.
    writing: bool,
    /// Nothing more will come.
    ended: bool,
    /// The client can't be written to any more.
    broken: bool,
    waiting: Option<Waker>,
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Outgoing {
    /// Begins to write to a client.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(super) fn start(writer: impl Write + Send + 'static) -> io::Result<Outgoing> {
        let shared = Arc::new(Shared::default());
        let outgoing = Outgoing { shared: shared.clone() };
        std::thread::Builder::new().name("writer".to_owned()).spawn(move || write(&shared, writer))?;
        Ok(outgoing)
    }

    /// Waits until the client has been told everything.
    pub(super) async fn drained(&self) {
        loop {
            let drained = self.shared.drained.notified();
            {
                let state = self.shared.lock();
                if state.broken || (state.unread.is_empty() && !state.writing) {
                    return;
                }
            }
            drained.await;
        }
    }
}

fn write(shared: &Shared, mut writer: impl Write) {
    let mut state = shared.lock();
    loop {
        if state.unread.is_empty() {
            shared.drained.notify_waiters();
            if state.ended {
                return;
            }
            state = shared.filled.wait(state).unwrap_or_else(PoisonError::into_inner);
            continue;
        }
        let bytes = std::mem::take(&mut state.unread);
        state.writing = true;
        let waiting = state.waiting.take();
        drop(state);
        if let Some(waker) = waiting {
            waker.wake();
        }
        let written = writer.write_all(&bytes).and_then(|()| writer.flush());
        state = shared.lock();
        state.writing = false;
        if written.is_err() {
            // The client is gone; its end of what we read will say so as well.
            state.broken = true;
            state.unread = Vec::new();
            if let Some(waker) = state.waiting.take() {
                waker.wake();
            }
        }
    }
}

impl AsyncWrite for Outgoing {
    fn poll_write(self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let mut state = self.shared.lock();
        if state.broken {
            return Poll::Ready(Ok(bytes.len()));
        }
        if state.unread.len() >= MOST {
            state.waiting = Some(cx.waker().clone());
            return Poll::Pending;
        }
        state.unread.extend_from_slice(bytes);
        self.shared.filled.notify_one();
        Poll::Ready(Ok(bytes.len()))
    }

    fn poll_flush(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }

    fn poll_shutdown(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.shared.lock().ended = true;
        self.shared.filled.notify_one();
        Poll::Ready(Ok(()))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::sync::mpsc::{Receiver, Sender, channel};
    use std::time::Duration;

    use tokio::io::AsyncWriteExt;

    use super::*;

    /// A client that takes a write when it is let, and is gone when nobody can let it.
    struct Gated {
        let_in: Receiver<()>,
        taken: Sender<Vec<u8>>,
    }

    impl Write for Gated {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.let_in.recv().map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))?;
            self.taken.send(bytes.to_vec()).unwrap();
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn gated() -> (Outgoing, Sender<()>, Receiver<Vec<u8>>) {
        let ((open, let_in), (taken, received)) = (channel(), channel());
        (Outgoing::start(Gated { let_in, taken }).unwrap(), open, received)
    }

    async fn is_drained(outgoing: &Outgoing) -> bool {
        tokio::time::timeout(Duration::ZERO, outgoing.drained()).await.is_ok()
    }

    fn block_on<T>(future: impl Future<Output = T>) -> T {
        tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap().block_on(future)
    }

    #[test]
    fn it_is_drained_when_the_client_has_read_all_and_not_before() {
        block_on(async {
            let (mut outgoing, open, received) = gated();
            assert!(is_drained(&outgoing).await);
            outgoing.write_all(b"one").await.unwrap();
            outgoing.write_all(b"two").await.unwrap();
            assert!(!is_drained(&outgoing).await);
            let mut read = Vec::new();
            while read.len() < 6 {
                assert!(!is_drained(&outgoing).await);
                open.send(()).unwrap();
                read.extend(received.recv_timeout(Duration::from_secs(30)).unwrap());
            }
            assert_eq!(read, b"onetwo");
            tokio::time::timeout(Duration::from_secs(30), outgoing.drained()).await.unwrap();
        });
    }

    #[test]
    fn no_more_than_so_much_lies_unread() {
        block_on(async {
            let (mut outgoing, open, received) = gated();
            let much = vec![b'x'; MOST];
            outgoing.write_all(&much).await.unwrap();
            // The thread takes the first lot and stands before the gate with it; the next fills up behind it.
            outgoing.write_all(&much).await.unwrap();
            let third = outgoing.write_all(b"more");
            assert!(tokio::time::timeout(Duration::ZERO, third).await.is_err());
            assert!(received.try_recv().is_err());
            drop(open);
            // A client that is gone holds nothing up either.
            tokio::time::timeout(Duration::from_secs(30), outgoing.write_all(&much)).await.unwrap().unwrap();
            tokio::time::timeout(Duration::from_secs(30), outgoing.drained()).await.unwrap();
        });
    }
}
