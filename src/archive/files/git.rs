//! What git tells of a repository: names and contents alone, through commands that run no hook, filter or helper of the
//! repository's, reach no network and write nothing.

use std::collections::BTreeSet;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

/// So long may git be silent. It answers within a second where nothing keeps it.
const SILENT: Duration = Duration::from_secs(60);
/// More than this no answer of git's may hold.
const MOST_BYTES: usize = 1 << 30;

/// What of the surroundings would make git answer for another repository than the one asked of.
const MISLEADING: &[&str] = &[
    "GIT_DIR",
    "GIT_WORK_TREE",
    "GIT_INDEX_FILE",
    "GIT_COMMON_DIR",
    "GIT_OBJECT_DIRECTORY",
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_NAMESPACE",
    "GIT_PREFIX",
    "GIT_REPLACE_REF_BASE",
    "GIT_SHALLOW_FILE",
    "GIT_CONFIG",
    "GIT_CONFIG_PARAMETERS",
    "GIT_CONFIG_COUNT",
    "GIT_LITERAL_PATHSPECS",
    "GIT_GLOB_PATHSPECS",
    "GIT_NOGLOB_PATHSPECS",
    "GIT_ICASE_PATHSPECS",
    "GIT_TRACE",
    "GIT_TRACE2",
    "GIT_TRACE2_EVENT",
    "GIT_TRACE2_PERF",
    "GIT_TRACE_SETUP",
];

/// The top of the repository that a folder belongs to: the nearest folder at or above it that holds `.git`.
pub(crate) fn top(folder: &Path) -> Option<&Path> {
    folder.ancestors().find(|folder| folder.join(".git").symlink_metadata().is_ok())
}

/// The files below a folder that git tracks; none where there is no repository or no git to ask.
pub(crate) fn tracked(folder: &Path) -> BTreeSet<PathBuf> {
    if top(folder).is_none() {
        return BTreeSet::new();
    }
    let said = run(folder, &["ls-files", "-z", "--cached", "--", "."], &[], None).unwrap_or_default();
    let paths = said.split(|byte| *byte == 0).filter(|path| !path.is_empty());
    paths.map(|path| folder.join(path_of(path))).collect()
}

/// A path as git writes it.
#[cfg(unix)]
fn path_of(bytes: &[u8]) -> PathBuf {
    use std::os::unix::ffi::OsStrExt;
    PathBuf::from(std::ffi::OsStr::from_bytes(bytes))
}

/// A path as git writes it.
#[cfg(not(unix))]
fn path_of(bytes: &[u8]) -> PathBuf {
    PathBuf::from(String::from_utf8_lossy(bytes).into_owned())
}

/// Asks git something in a folder; `index` is another index than the repository's own.
///
/// # Errors
/// What git says, that it is not there, or that it does not answer.
pub(crate) fn run(folder: &Path, args: &[&str], input: &[u8], index: Option<&Path>) -> io::Result<Vec<u8>> {
    let mut command = Command::new("git");
    command.arg("-C").arg(folder);
    command.args(["-c", "core.fsmonitor=false", "-c", "core.quotePath=false", "-c", "core.hooksPath=/dev/null"]);
    command.args(args);
    for misleading in MISLEADING {
        command.env_remove(misleading);
    }
    if let Some(index) = index {
        command.env("GIT_INDEX_FILE", index);
    }
    // Nothing is fetched, asked or written meanwhile.
    command.env("GIT_NO_LAZY_FETCH", "1").env("GIT_TERMINAL_PROMPT", "0").env("GIT_OPTIONAL_LOCKS", "0");
    command.env("GIT_NO_REPLACE_OBJECTS", "1").env("LC_ALL", "C");
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().map_err(|error| io::Error::new(error.kind(), format!("git: {error}")))?;
    let input = input.to_vec();
    let mut stdin = child.stdin.take();
    // Written beside the reading: neither waits for the other. What git does not want to read is no matter.
    let writer = thread::spawn(move || stdin.as_mut().map_or(Ok(()), |stdin| stdin.write_all(&input)));
    let (said, complaints) = (listen(child.stdout.take()), listen(child.stderr.take()));
    let answer = gather(&mut child, &said, MOST_BYTES);
    let complaints = gather(&mut child, &complaints, 1 << 16).unwrap_or_default();
    let status = child.wait()?;
    let _ = writer.join();
    let answer = answer?;
    if status.success() {
        return Ok(answer);
    }
    Err(wrong(format!("git: {}", String::from_utf8_lossy(&complaints).trim())))
}

/// Hears what comes through a pipe, in pieces.
fn listen(pipe: Option<impl Read + Send + 'static>) -> Receiver<Vec<u8>> {
    let (teller, heard) = channel();
    if let Some(mut pipe) = pipe {
        thread::spawn(move || {
            let mut piece = vec![0; 1 << 16];
            while let Ok(length) = pipe.read(&mut piece) {
                let piece = piece.get(..length).unwrap_or_default();
                if piece.is_empty() || teller.send(piece.to_vec()).is_err() {
                    break;
                }
            }
        });
    }
    heard
}

/// All that is heard until the end; ends the child where it falls silent or says more than anybody would.
fn gather(child: &mut Child, heard: &Receiver<Vec<u8>>, most: usize) -> io::Result<Vec<u8>> {
    let mut all = Vec::new();
    loop {
        match heard.recv_timeout(SILENT) {
            Ok(piece) => all.extend_from_slice(&piece),
            Err(RecvTimeoutError::Disconnected) => return Ok(all),
            Err(RecvTimeoutError::Timeout) => {
                let _ = child.kill();
                return Err(io::Error::new(
                    io::ErrorKind::TimedOut,
                    format!("git: no answer in {} s", SILENT.as_secs()),
                ));
            }
        }
        if all.len() > most {
            let _ = child.kill();
            return Err(wrong("git: its answer is too long to be one".to_owned()));
        }
    }
}

/// A question that can't be answered.
pub(crate) fn wrong(message: String) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidInput, message)
}
