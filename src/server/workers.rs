//! The threads that work answers out.

use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, PoisonError, mpsc};

/// Stack of a thread that works something out, in bytes. Nothing of ours recurses deeper for a longer text; the `kdl`
/// crate's types do, a frame or two a level of nesting.
pub(super) const STACK: usize = 16 * 1024 * 1024;

/// Something to be worked out.
pub(super) type Job = Box<dyn FnOnce() + Send>;

/// Some threads that take jobs in turn. They end when the last handle is gone.
#[derive(Debug, Clone)]
pub(super) struct Workers {
    jobs: mpsc::Sender<Job>,
}

impl Workers {
    /// As many threads as the machine has cores, four at least: one slow answer must not hold the others up.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(super) fn start() -> io::Result<Workers> {
        let (jobs, taken) = mpsc::channel::<Job>();
        let taken = Arc::new(Mutex::new(taken));
        let count = std::thread::available_parallelism().map_or(4, |cores| cores.get().clamp(4, 16));
        for number in 0..count {
            let taken = taken.clone();
            let work = move || {
                loop {
                    let job = taken.lock().unwrap_or_else(PoisonError::into_inner).recv();
                    let Ok(job) = job else { return };
                    // A job answers for itself; should it panic all the same, the thread goes on.
                    let _ = catch_unwind(AssertUnwindSafe(job));
                }
            };
            std::thread::Builder::new().name(format!("worker {number}")).stack_size(STACK).spawn(work)?;
        }
        Ok(Workers { jobs })
    }

    /// Leaves a job for the next thread that is free.
    pub(super) fn take(&self, job: Job) {
        // Fails only where every thread is gone, and with them everyone who waits.
        let _ = self.jobs.send(job);
    }
}
