//! `leadsman format`: files laid out as all are.

use std::collections::BTreeSet;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::difference;
use super::paths::{Meant, Paths, standard_input};
use super::store;
use super::terminal::{complain, ended, here};
use crate::archive::Archive;
use crate::format::changes;
use crate::pages::{counted, file_name};
use crate::source::clean::clean;
use crate::source::{FileId, Text, applied};
use crate::syntax::Tree;

/// Lay plans, kit and house files out as all are
///
/// There is one way and nothing to choose. Only white space changes: numbers, quotes, comments and their order stay as they
/// were written, and so does all of a node that has a fault. Files are written as `check --fix` writes them.
///
/// Exit status: 0 when the files are laid out so now, 1 when --check or --diff would change one, 2 when one could not be
/// read or written.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Format {
    /// Files and folders to lay out; the current folder if none is given
    ///
    /// A folder means every *.plan.kdl, *.kit.kdl and leadsman.kdl below it that version control does not ignore.
    #[arg(value_name = "PATHS")]
    paths: Vec<PathBuf>,
    /// Change nothing; list the files that would change
    #[arg(long, conflicts_with_all = ["diff", "stdin"])]
    check: bool,
    /// Change nothing; show what would change
    #[arg(long, conflicts_with = "stdin")]
    diff: bool,
    /// Lay out what stands on standard input, and write it to standard output
    #[arg(long, requires = "path", conflicts_with = "paths")]
    stdin: bool,
    /// The name of the file that standard input holds, for messages
    #[arg(long, value_name = "NAME", requires = "stdin")]
    path: Option<PathBuf>,
}

/// What became of all files.
#[derive(Debug, Default)]
struct Done {
    /// How many changed, or would.
    changed: usize,
    /// Whether one could not be read or written.
    failed: bool,
}

impl Format {
    /// Lays out what is meant.
    pub(super) fn run(&self) -> ExitCode {
        ended(self.formatted())
    }

    fn formatted(&self) -> io::Result<ExitCode> {
        if let Some(name) = &self.path {
            return text_of_nobody(name);
        }
        let here = here()?;
        let this = [PathBuf::from(".")];
        let paths = Paths::find(&here, if self.paths.is_empty() { &this } else { &self.paths });
        for failed in &paths.failed {
            complain(failed);
        }
        for path in &paths.excluded {
            complain(format!("{}: left out by `exclude` in leadsman.kdl", path.display()));
        }
        let mut done = Done { failed: !paths.failed.is_empty(), ..Done::default() };
        let mut out = BufWriter::new(io::stdout().lock());
        for meant in &paths.meant {
            for (file, error) in &meant.refused {
                // What is left out on purpose leaves nothing of the archive undone.
                done.failed |= error.source.kind() != io::ErrorKind::Unsupported;
                complain(format!("{file}: {}", error.why()));
            }
            self.all_of(meant, &here, &mut out, &mut done)?;
        }
        out.flush()?;
        let would = self.check || self.diff;
        let tense = if would { "would be laid out otherwise" } else { "laid out anew" };
        complain(format!("{} {tense}", counted(done.changed, "file")));
        complain(crate::CAUTION);
        Ok(ExitCode::from(if done.failed { 2 } else { u8::from(would && done.changed > 0) }))
    }

    fn all_of(&self, meant: &Meant, here: &Path, out: &mut dyn Write, done: &mut Done) -> io::Result<()> {
        let Meant { archive, files, .. } = meant;
        if !(self.check || self.diff) {
            store::tidy_beside(archive, files);
        }
        // Two names of one file are laid out once.
        let mut met = BTreeSet::new();
        for file in files {
            if met.insert(archive.leads_to(file).unwrap_or_else(|| file.clone())) {
                self.one(archive, file, here, out, done)?;
            }
        }
        Ok(())
    }

    fn one(
        &self,
        archive: &Archive,
        file: &FileId,
        here: &Path,
        out: &mut dyn Write,
        done: &mut Done,
    ) -> io::Result<()> {
        let name = file_name(archive, file, here);
        let text = match archive.text(file) {
            Ok(text) => text,
            Err(error) => {
                done.failed = true;
                complain(format!("{name}: {}", error.why()));
                return Ok(());
            }
        };
        let Some(new) = laid_out(&text, &name) else { return Ok(()) };
        if self.diff {
            difference::write(out, &name, text.as_str(), &new)?;
        } else if self.check {
            writeln!(out, "{}", clean(&name))?;
        } else if let Err(refused) = store::replace(&archive.path_of(file), archive.root(), text.hash(), &new) {
            done.failed = true;
            complain(format!("left {name} as it is: {refused}"));
            return Ok(());
        }
        done.changed += 1;
        Ok(())
    }
}

/// A text laid out; `None` where it is already. What is left as it is is said.
fn laid_out(text: &Text, name: &str) -> Option<String> {
    if text.is_lossy() {
        complain(format!("left {name} as it is: it holds bytes that are not UTF-8"));
        return None;
    }
    let tree = Tree::parse(text.as_str());
    if let Some(error) = tree.errors().first() {
        let line = text.position(error.span.start, crate::source::Encoding::Utf8).line + 1;
        complain(format!("{name}:{line}: what has a fault is left as it is: {}", error.message));
    }
    let changes = changes(&tree);
    (!changes.is_empty()).then(|| applied(text.as_str(), &changes))
}

/// Lays out what stands on standard input, whatever file it is to be.
fn text_of_nobody(name: &Path) -> io::Result<ExitCode> {
    let bytes = standard_input()?;
    let text = Text::from_bytes(&bytes);
    let new = laid_out(&text, &name.display().to_string());
    let mut out = io::stdout().lock();
    out.write_all(new.as_deref().map_or(&*bytes, str::as_bytes))?;
    out.flush()?;
    complain(crate::CAUTION);
    Ok(ExitCode::from(if text.is_lossy() { 2 } else { 0 }))
}
