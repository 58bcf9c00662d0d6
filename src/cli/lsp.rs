//! `leadsman lsp`: the language server.

use std::process::ExitCode;

use clap::Args;

/// Serve an editor on standard input and output, in the Language Server Protocol.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Lsp {
    /// Speak on standard input and output, as it does anyway; some editors ask for it
    #[arg(long)]
    stdio: bool,
}

impl Lsp {
    /// Serves until the client takes its leave.
    pub(super) fn run(&self) -> ExitCode {
        crate::server::serve()
    }
}
