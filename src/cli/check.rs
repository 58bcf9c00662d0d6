//! `leadsman check`: what is found in plans and kit, on the screen or for other programs.

use std::env;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::accept::accept;
use super::cache;
use super::fix::Fixes;
use super::mend;
use super::page::page;
use super::paths::{Meant, Paths, standard_input};
use super::progress::Progress;
use super::select::Select;
use super::since;
use super::staged::staged;
use super::terminal::{complain, ended, unless_read_enough};
use crate::archive::Archive;
use crate::findings::Level;
use crate::pages::screen::{self, Drawing};
use crate::pages::settings;
use crate::pages::{Checked, Sheet, Summary, counted, file_name, json, line, statistics};
use crate::rules::Fixes as Searched;
use crate::source::clean::clean;

/// Check plans and kit files, and show what is found.
///
/// Exit status: 0 when nothing of the asked level was found, 1 when something was, 2 when something could not be
/// checked. No status says that a dive is safe.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Check {
    /// Files and folders to check; the current folder if none is given
    ///
    /// A folder means every *.plan.kdl, *.kit.kdl and leadsman.kdl below it that version control does not ignore. A
    /// file is checked whatever its name; one of another name is read as a plan.
    #[arg(value_name = "PATHS")]
    paths: Vec<PathBuf>,
    /// How findings are written
    #[arg(long, value_enum, default_value_t = Format::Screen)]
    format: Format,
    /// The least level of finding that makes the exit status 1
    #[arg(long, value_enum, value_name = "LEVEL", default_value_t = FailOn::Error)]
    fail_on: FailOn,
    /// Mend what is found, check again until there is nothing more to mend, and show what is left
    ///
    /// A file keeps its mode, its byte-order mark and its line ends. One that somebody else changes meanwhile, that is
    /// not UTF-8, or that would no longer read, is left as it is. What a waiver covers is not mended.
    ///
    /// With --stdin the text is written to standard output, mended, and nothing else; what is left of it is said on standard
    /// error.
    #[arg(long, value_enum, value_name = "WHICH", num_args = 0..=1, require_equals = true)]
    #[arg(default_missing_value = "safe")]
    fix: Option<Fixes>,
    /// Show what --fix would do to the files, and do none of it
    #[arg(long, conflicts_with_all = ["stdin", "accept", "staged"])]
    diff: bool,
    #[command(flatten)]
    select: Select,
    /// List no more than so many findings, the gravest; all are counted. On a terminal 200 unless said
    #[arg(long, value_name = "COUNT")]
    max_findings: Option<usize>,
    /// How often which rule finds something, in the place of the findings
    #[arg(long, conflicts_with_all = ["quiet", "diff"])]
    statistics: bool,
    /// List no findings: the caution and the exit status alone
    #[arg(long, short)]
    quiet: bool,
    /// When to use colours
    #[arg(long, value_enum, value_name = "WHEN", default_value_t = Colour::Auto)]
    color: Colour,
    /// Check nothing; list the files that would be checked
    #[arg(long, conflicts_with_all = ["stdin", "fix", "diff", "accept", "quiet", "statistics"])]
    show_files: bool,
    /// Accept all that is found as it is, but what can't be waived: checks leave it out from now on
    ///
    /// It is kept in leadsman.accepted.json in the archive's root, by rule, names, the text of its node and the values that
    /// its message tells: whoever changes any of that hears of it again. Every run says how much is accepted, and what of it is gone.
    #[arg(long, conflicts_with = "stdin")]
    accept: bool,
    /// Only what a change since this git revision touches: files that read otherwise, and all whose findings rest on them
    #[arg(long, value_name = "REV", conflicts_with = "stdin")]
    changed_since: Option<String>,
    /// What is staged for the next commit, not what lies in the folder: for a hook
    #[arg(long, conflicts_with_all = ["stdin", "fix", "accept"])]
    staged: bool,
    /// List the facts that rules lacked, each with the rules that wait for it
    #[arg(long)]
    lacking: bool,
    /// Look at every file anew, and leave what earlier runs found as it is
    #[arg(long)]
    no_cache: bool,
    /// Check nothing; show what a file is held to and where that is set, what is usual included
    #[arg(long, value_name = "FILE", conflicts_with_all = ["paths", "stdin", "fix", "accept", "changed_since", "fail_on", "staged"])]
    show_settings: Option<PathBuf>,
    /// Check what stands on standard input as if it were the file --path
    #[arg(long, requires = "path", conflicts_with = "paths")]
    stdin: bool,
    /// The name of the file that standard input holds, which may be on disk or not
    #[arg(long, value_name = "NAME", requires = "stdin")]
    path: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Drawn under the values that cause them
    Screen,
    /// One a line: path:line:column: level rule: message
    Line,
    /// For other programs, as schema/check.schema.json says
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Colour {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// So many findings are listed on a terminal unless another number is asked for: more scroll past unread.
const MOST_ON_A_TERMINAL: usize = 200;
/// From so many on, the rules and files that they are of are told below them.
const MANY: usize = 50;

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FailOn {
    /// Errors
    Error,
    /// Warnings and errors
    Warning,
    /// Any finding
    Note,
    /// None, whatever is found
    Never,
}

impl FailOn {
    fn level(self) -> Option<Level> {
        match self {
            FailOn::Error => Some(Level::Error),
            FailOn::Warning => Some(Level::Warning),
            FailOn::Note => Some(Level::Note),
            FailOn::Never => None,
        }
    }
}

impl Check {
    /// Checks and shows.
    pub(super) fn run(&self) -> ExitCode {
        ended(self.checked())
    }

    fn checked(&self) -> io::Result<ExitCode> {
        let here = super::terminal::here()?;
        if let Some(file) = &self.show_settings {
            return self.show_settings(&here, file);
        }
        let paths = self.find(&here)?;
        let mut incomplete = !paths.failed.is_empty();
        for failed in &paths.failed {
            complain(failed);
        }
        for path in &paths.excluded {
            complain(format!("{}: left out of checks by `exclude` in leadsman.kdl", path.display()));
        }
        // A hook names whatever was changed, and is right to.
        if paths.meant.is_empty() && !incomplete && !paths.excluded.is_empty() {
            complain(crate::CAUTION);
            return Ok(ExitCode::SUCCESS);
        }
        if paths.meant.is_empty() {
            return Ok(ExitCode::from(2));
        }
        let mut meant = paths.meant;
        if let Some(revision) = &self.changed_since {
            for Meant { archive, files, .. } in &mut meant {
                let touched = since::touched(archive, revision)?;
                files.retain(|file| touched.contains(file));
            }
        }
        if self.show_files {
            return show_files(&meant, &here);
        }
        if self.diff {
            let mut out = BufWriter::new(io::stdout().lock());
            mend::diff(&mut out, &meant, self.fix.unwrap_or(Fixes::Safe), &here)?;
            out.flush()?;
        } else if let Some(fixes) = self.fix.filter(|_| !self.stdin) {
            incomplete |= mend::mend(&mut meant, fixes, &here);
        }
        let mended = self.fix.filter(|_| self.stdin).and_then(|fixes| mend::text(&mut meant, fixes, &here));
        if self.accept {
            for meant in &mut meant {
                let progress = Progress::new(meant.files.len());
                let accepted = accept(meant, &|| progress.step())?;
                drop(progress);
                let name = file_name(&meant.archive, &Archive::accepted_file(), &here);
                complain(format!("{} in {name}", counted(accepted.count(), "accepted finding")));
            }
        }
        let progress = Progress::new(meant.iter().map(|meant| meant.files.len()).sum());
        // What is mended changes under our hands, and what nobody has saved is no run's.
        let cached = !self.no_cache && self.fix.is_none() && !self.stdin;
        let selected = self.select.selected()?;
        let check = |Meant { archive, files, refused, left_out }: Meant| {
            let report = |archive: &Archive| {
                let step = || progress.step();
                // A line says no fixes, so none is searched for.
                let fixes = match self.format {
                    _ if self.quiet || self.diff || self.statistics => Searched::AtHand,
                    Format::Line => Searched::AtHand,
                    Format::Screen | Format::Json => Searched::Searched,
                };
                let report = archive.check_whole(&files, fixes, &step);
                let mut report = match &selected {
                    Some(selected) => report.selected(&|finding| selected.lists(finding)).shortened(),
                    None => report.shortened(),
                };
                report.left_out = left_out;
                refused.into_iter().for_each(|(file, error)| report.refuse(file, error));
                report
            };
            if cached {
                let (archive, report) = cache::over(archive, report);
                return Checked { archive, report };
            }
            let report = report(&archive);
            Checked { archive, report }
        };
        let checked: Vec<Checked> = meant.into_iter().map(check).collect();
        drop(progress);
        incomplete |= checked.iter().any(|checked| !checked.report.unread.is_empty());
        let is_terminal = io::stdout().is_terminal();
        let usual = if is_terminal && self.format == Format::Screen { MOST_ON_A_TERMINAL } else { usize::MAX };
        let sheet = Sheet::new(checked, &here).at_most(self.max_findings.unwrap_or(usual));
        let shown = match mended {
            Some(text) => mended_text(&text, &sheet),
            None => self.show(&sheet, is_terminal),
        };
        unless_read_enough(shown)?;
        let found = self.fail_on.level().is_some_and(|level| Summary::of(&sheet).at_least(level) > 0);
        // The process ends here: taking thousands of plans apart first would help nobody.
        std::mem::forget(sheet);
        Ok(ExitCode::from(if incomplete { 2 } else { u8::from(found) }))
    }

    fn find(&self, here: &Path) -> io::Result<Paths> {
        match &self.path {
            Some(name) => Ok(Paths::unsaved(here, name, &standard_input()?)),
            None => {
                let this = [PathBuf::from(".")];
                let paths = if self.paths.is_empty() { &this } else { &*self.paths };
                if self.staged {
                    Ok(Paths::find_staged(staged(here)?, here, paths))
                } else {
                    Ok(Paths::find(here, paths))
                }
            }
        }
    }

    fn show_settings(&self, here: &Path, file: &Path) -> io::Result<ExitCode> {
        let paths = Paths::find(here, &[file.to_owned()]);
        if let Some(failed) = paths.failed.first() {
            return Err(io::Error::other(failed.to_string()));
        }
        let one = paths.meant.iter().find_map(|Meant { archive, files, .. }| Some((archive, files.first()?)));
        let Some((archive, id)) = one.filter(|_| file.is_file()) else {
            return Err(io::Error::other(format!("{}: is no file to check", file.display())));
        };
        if let Err(error) = archive.text(id) {
            return Err(io::Error::other(error.to_string()));
        }
        let page = settings::Page { archive, file: id.clone(), here, settings: archive.settings(id) };
        let mut out = BufWriter::new(io::stdout().lock());
        match self.format {
            Format::Json => settings::json::write(&mut out, &page)?,
            Format::Screen | Format::Line => settings::screen::write(&mut out, &page, super::terminal::width())?,
        }
        out.flush()?;
        Ok(ExitCode::SUCCESS)
    }

    fn show(&self, sheet: &Sheet, is_terminal: bool) -> io::Result<()> {
        let mut out: Box<dyn Write> = match self.format {
            Format::Screen => page(),
            Format::Line | Format::Json => Box::new(BufWriter::new(io::stdout().lock())),
        };
        match self.format {
            _ if self.quiet || self.diff => writeln!(out, "leadsman: {}", crate::CAUTION)?,
            Format::Json => json::write(&mut out, sheet)?,
            _ if self.statistics => {
                statistics::write(&mut out, sheet)?;
                writeln!(out, "leadsman: {}", Summary::of(sheet).sentence())?;
                writeln!(out, "leadsman: {}", crate::CAUTION)?;
            }
            Format::Screen => {
                screen::write(&mut out, sheet, self.drawing(sheet, is_terminal))?;
            }
            Format::Line => line::write(&mut out, sheet, self.lacking)?,
        }
        out.flush()
    }

    /// The width of the terminal, and colours where they are wanted: unless said, only there and where nobody has asked for none.
    fn drawing(&self, sheet: &Sheet, is_terminal: bool) -> Drawing {
        let refused = env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        let plain = env::var_os("TERM").is_some_and(|term| term == "dumb");
        let colour = match self.color {
            Colour::Auto => is_terminal && !refused && !plain,
            Colour::Always => true,
            Colour::Never => false,
        };
        let statistics = Summary::of(sheet).at_least(Level::Note) >= MANY;
        Drawing { width: super::terminal::width(), colour, lacking: self.lacking, statistics }
    }
}

/// Lists the files that are meant.
fn show_files(meant: &[Meant], here: &Path) -> io::Result<ExitCode> {
    let mut out = BufWriter::new(io::stdout().lock());
    for Meant { archive, files, .. } in meant {
        for file in files {
            writeln!(out, "{}", clean(&file_name(archive, file, here)))?;
        }
    }
    complain(crate::CAUTION);
    out.flush()?;
    Ok(ExitCode::SUCCESS)
}

/// Writes a text that was mended to standard output, and what is left of it to standard error.
fn mended_text(text: &str, sheet: &Sheet) -> io::Result<()> {
    line::write(&mut io::stderr().lock(), sheet, false)?;
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}
