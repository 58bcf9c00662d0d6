//! `leadsman rules` and `leadsman explain`: what is looked at, and why.

use std::io::{self, BufWriter, Write};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::page::page;
use super::terminal::{complain, ended, unless_read_enough};
use crate::pages::language::{self, Meant};
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

/// Say what a rule, a word of the language or a word of the trade means
///
/// Of a rule its page: what it says, why it matters, an example that breaks it, how to mend it, where its figure comes from.
/// Of a word how it is written, what it takes and what stands below it. Without a name, all names.
///
/// Exit status: 0 when it is shown, 2 when there is nothing of that name.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Explain {
    /// The rule or the word
    #[arg(value_name = "NAME", num_args = 0..)]
    name: Vec<String>,
    /// How a rule's page is written
    #[arg(long, value_enum, default_value_t = Format::Screen)]
    format: Format,
    /// All whose name or meaning has this text
    #[arg(long, value_name = "TEXT", conflicts_with_all = ["name", "all"])]
    search: Option<String>,
    /// The whole language on one page
    #[arg(long, conflicts_with = "name")]
    all: bool,
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
        match self.format {
            Format::Screen => shown(|out| screen::list(out, TABLE, super::terminal::width())),
            Format::Json => told(|out| json::write(out, &TABLE.iter().collect::<Vec<&Rule>>())),
        }
    }
}

impl Explain {
    /// Shows what is asked for.
    pub(super) fn run(&self) -> ExitCode {
        let width = super::terminal::width();
        if let Some(text) = &self.search {
            let mut found = false;
            let code = shown(|out| {
                found = language::search(out, text, width)?;
                Ok(())
            });
            if !found {
                complain(format!("nothing has {text:?} in its name or its meaning"));
                return ExitCode::from(2);
            }
            return code;
        }
        // Some names of the trade are of several words.
        let name = self.name.join(" ");
        if self.all {
            return shown(|out| language::whole(out, width));
        }
        if name.is_empty() {
            return shown(|out| language::list(out, width));
        }
        let meant = Meant::by(&name);
        match rules::find(&name) {
            Some(rule) if self.format == Format::Json => told(|out| json::write(out, &[rule])),
            // A rule may be called as a word of the trade is.
            Some(rule) => shown(|out| screen::page(out, rule, width)),
            None if self.format == Format::Json => {
                complain(format!("no rule is called {name:?}; words are in schema/vocabulary.json"));
                ExitCode::from(2)
            }
            None if !meant.is_empty() => shown(|out| language::page(out, &meant, width)),
            None => {
                let near = nearest(&name, TABLE.iter().map(|rule| rule.slug).chain(language::names()));
                let near = near.map_or_else(
                    || "`leadsman explain` lists all names, `leadsman explain --search TEXT` finds one".to_owned(),
                    |near| format!("is {near:?} meant? `leadsman explain` lists all names"),
                );
                complain(format!("no rule and no word is called {name:?}: {near}"));
                ExitCode::from(2)
            }
        }
    }
}

/// Writes a page for people to standard output.
fn shown(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> ExitCode {
    to(page(), write)
}

/// Writes what programs read.
fn told(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> ExitCode {
    to(Box::new(BufWriter::new(io::stdout().lock())), write)
}

fn to(mut out: Box<dyn Write>, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> ExitCode {
    let written = write(&mut out).and_then(|()| out.flush());
    ended(unless_read_enough(written).map(|()| ExitCode::SUCCESS))
}
