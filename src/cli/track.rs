//! `leadsman track`: a plan's dives as they would go.

use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use clap::{Args, ValueEnum};

use super::paths::{Meant, Paths};
use super::terminal::complain;
use crate::archive::Archive;
use crate::forecast::dives::{self, DiverDive};
use crate::forecast::{Day, Missing, Simulated};
use crate::pages::track::{Tracks, json, table};
use crate::pages::{file_name, spots};
use crate::plan::Plan;
use crate::run::Trouble;
use crate::source::FileId;

/// Show a plan's dives as they would go, diver by diver
///
/// Depth, what is breathed, the loop's oxygen, PO2, the ceiling, the time left without stops and the time to the surface,
/// gas and absorbent left at instants, and what happens when. A way home that the plan leaves open makes the stops that
/// its gradient asks for; without a gradient none are worked out, and it goes straight to the surface.
///
/// Exit status: 0 when every dive asked for is shown, 2 when one could not be run, does not come back to the surface, or
/// the file could not be read.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Track {
    /// The plan
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Only the dive of this name
    #[arg(long, value_name = "NAME")]
    dive: Option<String>,
    /// Only the diver of this name
    #[arg(long, value_name = "NAME")]
    diver: Option<String>,
    /// The dives with one thing worse from its worst moment on, such as `breathless` or `deeper`
    #[arg(long, value_name = "NAME")]
    scenario: Option<String>,
    /// Seconds from one sample to the next
    #[arg(long, value_name = "SECONDS", default_value_t = 60, value_parser = clap::value_parser!(u32).range(1..=86_400))]
    every: u32,
    /// How tracks are written
    #[arg(long, value_enum, default_value_t = Format::Table)]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// A line an instant, for people
    Table,
    /// For other programs, as schema/track.schema.json says
    Json,
}

impl Track {
    /// Runs the dives and shows them.
    pub(super) fn run(&self) -> ExitCode {
        match self.shown() {
            Ok(code) => code,
            Err(error) => {
                complain(error);
                ExitCode::from(2)
            }
        }
    }

    fn shown(&self) -> io::Result<ExitCode> {
        let here = super::terminal::here()?;
        let path = here.join(&self.file);
        if path.is_dir() {
            return Err(wrong(format!("{}: is a folder; a track is of one plan", self.file.display())));
        }
        let paths = Paths::find(&here, std::slice::from_ref(&self.file));
        for failed in &paths.failed {
            complain(failed);
        }
        let Some((archive, file)) = only(&paths) else { return Ok(ExitCode::from(2)) };
        archive.text(file).map_err(|error| wrong(error.to_string()))?;
        let Some(plan) = archive.plan(file) else {
            return Err(wrong(format!("{}: holds no plan", self.file.display())));
        };
        let meant = self.meant(&plan)?;
        let scope = archive.scope(file);
        let (mut dives, mut complete) = (Vec::new(), true);
        let earlier = archive.earlier(file);
        let day = Day::of(&scope, archive.runs(), &plan, &earlier);
        let shown = self.scenario.is_none().then(|| Day::as_shown(&scope, archive.runs(), &plan, &earlier));
        for dive in &meant {
            match day.dive(dive) {
                Ok(simulated) => match self.troubled(simulated)? {
                    Some(simulated) => {
                        complete &= simulated.ran.never_surfaces().is_none();
                        let simulated = shown.as_ref().and_then(|day| day.dive(dive).ok()).unwrap_or(simulated);
                        dives.push(simulated);
                    }
                    None => complain(format!(
                        "dive {:?} of {:?} can't meet that scenario",
                        dive.dive.name.value, dive.member.name.value
                    )),
                },
                Err(lacking) => {
                    complete = false;
                    say_lacking(archive, &here, dive, &lacking);
                }
            }
        }
        if !dives.is_empty() {
            let tracks = Tracks { dives, every_s: self.every };
            match self.show(&tracks) {
                // Whoever reads has read enough.
                Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {}
                shown => shown?,
            }
        }
        Ok(ExitCode::from(if complete { 0 } else { 2 }))
    }

    /// The dives and divers that are asked for.
    fn meant<'a>(&self, plan: &'a Plan) -> io::Result<Vec<DiverDive<'a>>> {
        let all = dives::of(plan);
        let is = |asked: &Option<String>, name: &str| asked.as_ref().is_none_or(|asked| asked == name);
        let of_dive: Vec<DiverDive<'a>> =
            all.iter().filter(|one| is(&self.dive, &one.dive.name.value)).copied().collect();
        if let (Some(dive), true) = (&self.dive, of_dive.is_empty()) {
            return Err(none_such("dive", dive, all.iter().map(|one| &*one.dive.name.value)));
        }
        let meant: Vec<DiverDive<'a>> =
            of_dive.iter().filter(|one| is(&self.diver, &one.member.name.value)).copied().collect();
        match (&self.diver, meant.is_empty()) {
            (Some(diver), true) => Err(none_such("diver", diver, of_dive.iter().map(|one| &*one.member.name.value))),
            (None, true) => Err(wrong(format!("plan {:?} holds no dive with a diver", plan.name.value))),
            _ => Ok(meant),
        }
    }

    /// The dive as planned, or with the trouble that is asked for; `None` where it can't meet that.
    fn troubled<'a>(&self, mut simulated: Simulated<'a>) -> io::Result<Option<Simulated<'a>>> {
        let Some(asked) = &self.scenario else { return Ok(Some(simulated)) };
        if !Trouble::NAMES.contains(&&**asked) {
            return Err(none_such("scenario", asked, Trouble::NAMES.into_iter()));
        }
        Ok(simulated.ran.with_trouble(asked).map(|ran| {
            simulated.ran = Arc::new(ran);
            simulated
        }))
    }

    fn show(&self, tracks: &Tracks<'_>) -> io::Result<()> {
        let mut out = BufWriter::new(io::stdout().lock());
        match self.format {
            Format::Table => table::write(&mut out, tracks, super::terminal::width())?,
            Format::Json => json::write(&mut out, tracks)?,
        }
        out.flush()
    }
}

/// The one file that is meant.
fn only(paths: &Paths) -> Option<(&Archive, &FileId)> {
    let Meant { archive, files, .. } = paths.meant.first()?;
    Some((archive, files.first()?))
}

fn say_lacking(archive: &Archive, here: &Path, dive: &DiverDive<'_>, lacking: &[Missing]) {
    let whose = format!("dive {:?} of {:?} can't be run", dive.dive.name.value, dive.member.name.value);
    if lacking.is_empty() {
        complain(format!("{whose}: `leadsman check` says why"));
    }
    for Missing { place, fact } in lacking {
        let (start, _) = spots(archive, place);
        let file = file_name(archive, &place.file, here);
        complain(format!("{whose}: {file}:{}:{}: lacks {fact}", start.line, start.column));
    }
}

fn none_such<'n>(what: &str, asked: &str, names: impl Iterator<Item = &'n str>) -> io::Error {
    let mut known: Vec<String> = Vec::new();
    for name in names.map(|name| format!("{name:?}")) {
        if !known.contains(&name) {
            known.push(name);
        }
    }
    let known = if known.is_empty() { "there is none".to_owned() } else { format!("there is {}", known.join(", ")) };
    wrong(format!("no {what} {asked:?}: {known}"))
}

fn wrong(message: String) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidInput, message)
}
