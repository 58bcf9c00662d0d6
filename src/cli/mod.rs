//! The commands.

mod accept;
mod cache;
mod check;
mod fix;
mod lsp;
mod new;
mod paths;
mod progress;
mod rules;
mod since;
mod store;
mod track;

use std::env;
use std::io::{self, Write};
use std::path::PathBuf;
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
    /// Show a plan's dives as they would go, diver by diver
    Track(track::Track),
    /// Begin a plan from a template, what is still to be said marked in it
    New(new::New),
    /// List every rule
    Rules(rules::Rules),
    /// Show a rule's page
    Explain(rules::Explain),
    /// Serve an editor on standard input and output
    Lsp(lsp::Lsp),
}

/// Runs the command that the process was called with.
pub fn run() -> ExitCode {
    match Cli::parse().command {
        Command::Check(check) => check.run(),
        Command::Track(track) => track.run(),
        Command::New(new) => new.run(),
        Command::Rules(rules) => rules.run(),
        Command::Explain(explain) => explain.run(),
        Command::Lsp(lsp) => lsp.run(),
    }
}

/// The width of a page that is not drawn on a terminal.
const PAPER: usize = 100;

/// The width of the terminal that standard output is, else of paper.
fn width() -> usize {
    terminal_size::terminal_size_of(io::stdout()).map_or(PAPER, |(width, _)| width.0.into())
}

/// The folder that the process stands in.
fn here() -> io::Result<PathBuf> {
    let here = env::current_dir().and_then(|here| here.canonicalize());
    here.map_err(|error| io::Error::new(error.kind(), format!("the current folder: {error}")))
}

/// What a command could not do, said on standard error.
fn complain(message: impl std::fmt::Display) {
    // There is no other place to say that it can't be said.
    let _ = writeln!(io::stderr(), "leadsman: {}", crate::pages::clean::clean(&message.to_string()));
}
