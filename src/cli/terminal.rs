//! What the commands share of the process around them: the terminal's width, the folder, where complaints go.

use std::env;
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

/// The width of a page that is not drawn on a terminal.
pub(super) const PAPER: usize = 100;

/// The width of the terminal that standard output is, else of paper.
pub(super) fn width() -> usize {
    terminal_size::terminal_size_of(io::stdout()).map_or(PAPER, |(width, _)| width.0.into())
}

/// The columns that there are for a table: those of the terminal that standard output is, else as many as it takes.
pub(super) fn room() -> usize {
    terminal_size::terminal_size_of(io::stdout()).map_or(usize::MAX, |(width, _)| width.0.into())
}

/// The folder that the process stands in.
pub(super) fn here() -> io::Result<PathBuf> {
    let here = env::current_dir().and_then(|here| here.canonicalize());
    here.map_err(|error| io::Error::new(error.kind(), format!("the current folder: {error}")))
}

/// How a command ends: what kept it from its work is said, and is status 2.
pub(super) fn ended(work: io::Result<ExitCode>) -> ExitCode {
    work.unwrap_or_else(|error| {
        complain(error);
        ExitCode::from(2)
    })
}

/// What kept a page from being written; that whoever reads has read enough is no failure.
pub(super) fn unless_read_enough(written: io::Result<()>) -> io::Result<()> {
    match written {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        written => written,
    }
}

/// What a command could not do, said on standard error.
pub(super) fn complain(message: impl std::fmt::Display) {
    // There is no other place to say that it can't be said.
    let _ = writeln!(io::stderr(), "leadsman: {}", crate::source::clean::clean(&message.to_string()));
}
