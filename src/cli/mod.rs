//! The commands.

mod check;
mod fix;
mod lsp;
mod paths;
mod progress;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Checks dive plans written as plain text, on the command line and in an editor.
#[derive(Debug, Parser)]
#[command(name = "leadsman", version, about, after_help = crate::CAUTION, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Check plans and kit files, and show what is found
    Check(check::Check),
    /// Serve an editor on standard input and output
    Lsp(lsp::Lsp),
}

/// Runs the command that the process was called with.
pub fn run() -> ExitCode {
    match Cli::parse().command {
        Command::Check(check) => check.run(),
        Command::Lsp(lsp) => lsp.run(),
    }
}

/// What a command could not do, said on standard error.
fn complain(message: impl std::fmt::Display) {
    // There is no other place to say that it can't be said.
    let _ = writeln!(io::stderr(), "leadsman: {}", crate::pages::clean::clean(&message.to_string()));
}
