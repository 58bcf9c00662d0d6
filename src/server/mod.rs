//! The editor's protocol.
//!
//! A message goes through the `incoming` thread, which lets only well-formed ones through, and the `gate`, which
//! polls each once on the reader's turn, to the `main_loop`: one plain thread that holds the archives and applies what
//! the client says in order. Answers are worked out on the `workers`' threads from a snapshot, findings on the
//! `finder`'s. What the server says of its own accord goes through the `outbox`. None of them waits for the
//! client.

mod abilities;
mod documents;
mod ending;
mod feature;
mod finder;
mod gate;
mod handlers;
mod incoming;
mod main_loop;
mod outbox;
mod outgoing;
mod place;
mod rule_pages;
mod workers;

use std::fmt;
use std::io::{self, Read, Write};
use std::process::ExitCode;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use tower_lsp::{LspService, Server};

use self::ending::Ending;
use self::finder::{Finder, Pulled};
use self::gate::{Gate, SLOTS};
use self::handlers::{Before, Handlers};
use self::incoming::Incoming;
use self::main_loop::MainLoop;
use self::outbox::Outbox;
use self::outgoing::Outgoing;
use self::workers::Workers;
use crate::archive::{Disk, Host};

/// How long nothing must have been said before used files are looked at again, where nobody watches them.
const IDLE: Duration = Duration::from_secs(2);
/// How long the client may take to read the last that it is told.
const LAST_WORDS: Duration = Duration::from_millis(500);

/// Serves a client on standard input and output until it takes its leave: 0 if it shut the server down first, 1 if
/// it didn't, 2 where the system gives no thread to serve on.
pub fn serve() -> ExitCode {
    serve_on(io::stdin(), io::stdout())
}

/// Serves a client on any pipe.
pub fn serve_on(reader: impl Read + Send + 'static, writer: impl Write + Send + 'static) -> ExitCode {
    match run(reader, writer, Around::default()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(error) => {
            // Standard error is the one place left to say it; that it can't be said changes nothing.
            let _ = writeln!(io::stderr(), "leadsman: {error}");
            ExitCode::from(2)
        }
    }
}

/// What a server has around it; tests have their own.
#[doc(hidden)]
pub struct Around {
    /// The outside world.
    pub host: Arc<dyn Host>,
    /// How long nothing must have been said before used files are looked at again.
    pub idle: Duration,
    /// Called on a worker's thread with a request's method before its answer is worked out.
    pub before: Option<Before>,
    /// Told what whoever keeps the server should know; the client's user is not told.
    pub log: Log,
}

/// Takes a line of the log.
#[doc(hidden)]
pub type Log = Arc<dyn Fn(&str) + Send + Sync>;

impl Default for Around {
    fn default() -> Around {
        // Standard error is where editors keep what a server has to say beside the protocol; that it can't be said changes
        // nothing.
        let log = |line: &str| {
            let _ = writeln!(io::stderr(), "leadsman: {line}");
        };
        Around { host: Arc::new(Disk), idle: IDLE, before: None, log: Arc::new(log) }
    }
}

impl fmt::Debug for Around {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Around").field("host", &self.host).field("idle", &self.idle).finish_non_exhaustive()
    }
}

/// Serves a client until it takes its leave; says whether it shut the server down first.
///
/// # Errors
/// Where the system gives no thread.
#[doc(hidden)]
pub fn run(
    reader: impl Read + Send + 'static,
    writer: impl Write + Send + 'static,
    around: Around,
) -> io::Result<bool> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build()?;
    let ending = Arc::new(Ending::new());
    let (outbox, pulled) = (Outbox::default(), Pulled::default());
    let finder = Finder::start(outbox.clone(), pulled.clone())?;
    let main_loop = MainLoop::start(around.host, finder, Workers::start()?, outbox.clone(), around.idle, around.log)?;
    let outgoing = Outgoing::start(writer)?;
    let incoming = Incoming::listen(reader, ending.clone())?;
    let mut client = None;
    let (service, socket) = LspService::new(|speaker| {
        client = Some(speaker);
        Handlers { main_loop, outbox: outbox.clone(), pulled, before: around.before, watches: Mutex::new(false) }
    });
    let gate = Gate::new(service, ending.clone());
    runtime.block_on(async {
        if let Some(client) = client {
            tokio::spawn(outbox.run(client, outgoing.clone()));
        }
        let server = Server::new(incoming, outgoing.clone(), socket).concurrency_level(SLOTS).serve(gate);
        tokio::select! {
            () = server => {}
            () = ending.passed() => {}
        }
        let _ = tokio::time::timeout(LAST_WORDS, outgoing.drained()).await;
    });
    // Whoever still works something out is left behind: nobody waits for it.
    runtime.shutdown_background();
    Ok(ending.is_orderly())
}
