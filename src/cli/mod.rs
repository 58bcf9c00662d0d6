//! The commands.

mod accept;
mod cache;
mod check;
mod difference;
mod fix;
mod format;
mod init;
mod lsp;
mod mend;
mod new;
mod of_plan;
mod page;
mod paths;
mod progress;
mod rules;
mod select;
mod since;
mod staged;
mod stops;
mod store;
mod terminal;
mod track;

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
    /// Show the stops of a plan's dives, diver by diver, and of what may become of them
    Stops(stops::Stops),
    /// Lay files out as all are: blanks, blank lines, columns
    Format(format::Format),
    /// Begin an archive: house rules, divers, cylinders, a template and a first plan
    Init(init::Init),
    /// Begin a plan from a template, what is still to be said marked in it
    New(new::New),
    /// List every rule
    Rules(rules::Rules),
    /// Say what a rule or a word means
    Explain(rules::Explain),
    /// Serve an editor on standard input and output
    Lsp(lsp::Lsp),
}

/// Runs the command that the process was called with.
pub fn run() -> ExitCode {
    match Cli::parse().command {
        Command::Check(check) => check.run(),
        Command::Track(track) => track.run(),
        Command::Stops(stops) => stops.run(),
        Command::Format(format) => format.run(),
        Command::Init(init) => init.run(),
        Command::New(new) => new.run(),
        Command::Rules(rules) => rules.run(),
        Command::Explain(explain) => explain.run(),
        Command::Lsp(lsp) => lsp.run(),
    }
}
