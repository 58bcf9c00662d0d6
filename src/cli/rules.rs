//! `leadsman rules` and `leadsman explain`: what is looked at, and why.

use std::io::{self, BufWriter, Write};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::terminal::complain;
use crate::pages::rules::{json, screen};
use crate::rules::{self, Rule, TABLE};
use crate::words::nearest;

/// List every rule
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Rules {
    /// How the list is written
    #[arg(long, value_enum, default_value_t = Format::Screen)]
    format: Format,
}

/// Show a rule's page: what it says, why it matters, an example that breaks it, how to mend it, where its figure comes from
///
/// Exit status: 0 when the rule is shown, 2 when there is none of that name.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Explain {
    /// The rule
    #[arg(value_name = "RULE")]
    rule: String,
    /// How the page is written
    #[arg(long, value_enum, default_value_t = Format::Screen)]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Screen,
    /// For other programs, as schema/rules.schema.json says
    Json,
}

impl Rules {
    /// Lists the rules.
    pub(super) fn run(&self) -> ExitCode {
        shown(|out| match self.format {
            Format::Screen => screen::list(out, TABLE, super::terminal::width()),
            Format::Json => json::write(out, &TABLE.iter().collect::<Vec<&Rule>>()),
        })
    }
}

impl Explain {
    /// Shows the rule's page.
    pub(super) fn run(&self) -> ExitCode {
        let Some(rule) = rules::find(&self.rule) else {
            let near = nearest(&self.rule, TABLE.iter().map(|rule| rule.slug));
            let near = near.map_or_else(
                || "`leadsman rules` lists them".to_owned(),
                |near| format!("is {near:?} meant? `leadsman rules` lists them all"),
            );
            complain(format!("no rule is called {:?}: {near}", self.rule));
            return ExitCode::from(2);
        };
        shown(|out| match self.format {
            Format::Screen => screen::page(out, rule, super::terminal::width()),
            Format::Json => json::write(out, &[rule]),
        })
    }
}

/// Writes to standard output; whoever reads may have read enough.
fn shown(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> ExitCode {
    let mut out = BufWriter::new(io::stdout().lock());
    match write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            complain(error);
            ExitCode::from(2)
        }
        _ => ExitCode::SUCCESS,
    }
}
