//! The dives of one plan that a command is asked about.

use std::io;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;

use clap::{Args, ValueEnum};

use super::paths::{Meant, Paths};
use super::terminal::{complain, unless_read_enough};
use crate::archive::Archive;
use crate::forecast::dives::{self, DiverDive};
use crate::forecast::{Day, Missing, Simulated};
use crate::pages::{file_name, spots};
use crate::plan::Plan;
use crate::run::Trouble;
use crate::source::FileId;
use crate::words::Measures;

/// Which dives are asked for.
#[derive(Debug, Args)]
pub(super) struct OfPlan {
    /// The plan
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Only the dive of this name
    #[arg(long, value_name = "NAME")]
    dive: Option<String>,
    /// Only the diver of this name
    #[arg(long, value_name = "NAME")]
    diver: Option<String>,
    /// The measures of the page; those of the file unless said
    #[arg(long, value_enum, value_name = "MEASURES")]
    measures: Option<Said>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Said {
    /// Metres, bar, litres, degrees Celsius
    Metric,
    /// Feet, psi, cubic feet, degrees Fahrenheit; partial pressures stay bar
    Imperial,
}

/// A plan's file in its archive.
#[derive(Debug)]
pub(super) struct Opened {
    /// The archive.
    pub archive: Archive,
    /// The file.
    pub file: FileId,
    here: PathBuf,
}

impl OfPlan {
    /// The file; `None` where there is none such, which has been said then.
    ///
    /// # Errors
    /// What keeps it from being read.
    pub(super) fn opened(&self) -> io::Result<Option<Opened>> {
        let here = super::terminal::here()?;
        if here.join(&self.file).is_dir() {
            return Err(wrong(format!("{}: is a folder, not a plan", self.file.display())));
        }
        let paths = Paths::find(&here, std::slice::from_ref(&self.file));
        for failed in &paths.failed {
            complain(failed);
        }
        let one = paths.meant.into_iter().next();
        let Some((archive, file)) =
            one.and_then(|Meant { archive, files, .. }| Some((archive, files.into_iter().next()?)))
        else {
            return Ok(None);
        };
        archive.text(&file).map_err(|error| wrong(error.to_string()))?;
        if archive.plan(&file).is_none() {
            return Err(wrong(format!("{}: holds no plan", self.file.display())));
        }
        Ok(Some(Opened { archive, file, here }))
    }

    /// Runs the dives that are asked for, with the trouble of that name if one is, has those written that could be run, and
    /// says of the others why not. Succeeds when every one could be, and comes back to the surface.
    ///
    /// # Errors
    /// That there is no such file, dive, diver or trouble, or whatever keeps what there is from being written.
    pub(super) fn show(
        &self,
        scenario: Option<&str>,
        write: impl FnOnce(Vec<Simulated<'_>>, Measures) -> io::Result<()>,
    ) -> io::Result<ExitCode> {
        let Some(opened) = self.opened()? else { return Ok(ExitCode::from(2)) };
        let (archive, file) = (&opened.archive, &opened.file);
        let Some(plan) = archive.plan(file) else { return Ok(ExitCode::from(2)) };
        let meant = self.meant(&plan)?;
        let (scope, earlier) = (archive.scope(file), archive.earlier(file));
        let day = if scenario.is_some() { Day::of } else { Day::as_shown };
        let day = day(&scope, archive.runs(), &plan, &earlier);
        let (mut dives, mut complete) = (Vec::new(), true);
        for dive in &meant {
            let simulated = match day.dive(dive) {
                Ok(simulated) => simulated,
                Err(lacking) => {
                    complete = false;
                    opened.say_lacking(dive, &lacking);
                    continue;
                }
            };
            let Some(simulated) = troubled(simulated, scenario)? else {
                let (dive, diver) = (&dive.dive.name.value, &dive.member.name.value);
                complain(format!("dive {dive:?} of {diver:?} can't meet that scenario"));
                continue;
            };
            complete &= simulated.ran.never_surfaces().is_none();
            dives.push(simulated);
        }
        if !dives.is_empty() {
            unless_read_enough(write(dives, self.measures(&opened)))?;
        }
        Ok(ExitCode::from(if complete { 0 } else { 2 }))
    }

    /// The measures that the page is in.
    fn measures(&self, opened: &Opened) -> Measures {
        match self.measures {
            Some(Said::Metric) => Measures::Metric,
            Some(Said::Imperial) => Measures::Imperial,
            None => opened.archive.tree(&opened.file).map_or(Measures::Metric, |tree| Measures::of(&tree)),
        }
    }

    /// The dives and divers that are asked for.
    ///
    /// # Errors
    /// That there are none such.
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
}

impl Opened {
    /// Says what keeps a dive from being run.
    pub(super) fn say_lacking(&self, dive: &DiverDive<'_>, lacking: &[Missing]) {
        let whose = format!("dive {:?} of {:?} can't be run", dive.dive.name.value, dive.member.name.value);
        if lacking.is_empty() {
            complain(format!("{whose}: `leadsman check` says why"));
        }
        for Missing { place, fact } in lacking {
            let (start, _) = spots(&self.archive, place);
            let file = file_name(&self.archive, &place.file, &self.here);
            complain(format!("{whose}: {file}:{}:{}: lacks {fact}", start.line, start.column));
        }
    }
}

/// The dive as planned, or with the trouble that is asked for; `None` where it can't meet that.
fn troubled<'a>(mut simulated: Simulated<'a>, asked: Option<&str>) -> io::Result<Option<Simulated<'a>>> {
    let Some(asked) = asked else { return Ok(Some(simulated)) };
    if !Trouble::NAMES.contains(&asked) {
        return Err(none_such("scenario", asked, Trouble::NAMES.into_iter()));
    }
    Ok(simulated.ran.with_trouble(asked).map(|ran| {
        simulated.ran = Arc::new(ran);
        simulated
    }))
}

/// That there is nothing of the name that was asked for, and what there is.
pub(super) fn none_such<'n>(what: &str, asked: &str, names: impl Iterator<Item = &'n str>) -> io::Error {
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
