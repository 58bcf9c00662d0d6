//! `leadsman init`: an archive begun, what only its people know marked as open.

use std::fs;
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::store::{self, Refused};
use super::terminal::ended;
use crate::source::clean::clean;

/// Begin an archive: house rules, divers, cylinders, a template and a first plan
///
/// What only you know is written as "?", and `leadsman check` names it until it is answered. What is usual is written as such,
/// and a plan that is ready is told of it. Nothing that is there already is touched.
///
/// Exit status: 0 when all of it is there, 2 when something could not be written.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Init {
    /// The folder, which is made if it is not there
    #[arg(value_name = "FOLDER", default_value = ".")]
    folder: PathBuf,
}

/// What an archive begins with.
const FILES: &[(&str, &str)] = &[
    ("leadsman.kdl", include_str!("begin/house.kdl")),
    ("crew.kit.kdl", include_str!("begin/crew.kdl")),
    ("kit/cylinders.kit.kdl", include_str!("begin/cylinders.kdl")),
    ("templates/easy-18.plan.kdl", include_str!("begin/template.kdl")),
    ("plans/first.plan.kdl", include_str!("begin/first.kdl")),
];

const NEXT: &str = "\
Next:
  leadsman check                      what is still to be answered, where
  leadsman explain fill               what a word means and takes
  leadsman new templates/easy-18.plan.kdl --on 2027-05-15 --out plans/easy.plan.kdl
  leadsman stops plans/easy.plan.kdl  the dive as a table, once it can be run
At every commit, in .git/hooks/pre-commit:
  exec leadsman check --changed-since HEAD --staged";

impl Init {
    /// Writes the files.
    pub(super) fn run(&self) -> ExitCode {
        ended(self.begun().map(|()| ExitCode::SUCCESS))
    }

    fn begun(&self) -> io::Result<()> {
        let failed = |error: io::Error| io::Error::new(error.kind(), format!("{}: {error}", self.folder.display()));
        fs::create_dir_all(&self.folder).map_err(failed)?;
        let root = self.folder.canonicalize().map_err(failed)?;
        let mut out = io::stdout().lock();
        for (name, text) in FILES {
            let path = root.join(name);
            let shown = self.folder.join(name);
            let told = |what: &str| format!("{what}: {}", shown.display());
            if let Some(folder) = path.parent() {
                fs::create_dir_all(folder).map_err(failed)?;
            }
            match store::create(&path, &root, text) {
                Ok(()) => writeln!(out, "{}", clean(&told("written")))?,
                Err(Refused::There) => writeln!(out, "{}", clean(&told("left as it is")))?,
                Err(refused) => return Err(io::Error::other(format!("{}: {refused}", shown.display()))),
            }
        }
        writeln!(out, "\n{NEXT}\n\nleadsman: {}", crate::CAUTION)
    }
}
