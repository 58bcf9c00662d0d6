//! `leadsman track`: a plan's dives as they would go.

use std::io::{self, BufWriter, Write};
use std::process::ExitCode;
use std::sync::Arc;

use clap::{Args, ValueEnum};

use super::of_plan::{OfPlan, none_such};
use super::page::page;
use super::terminal::{complain, ended};
use crate::forecast::{Day, Simulated};
use crate::pages::track::{Tracks, json, table};
use crate::run::Trouble;
use crate::words::Measures;

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
    #[command(flatten)]
    of: OfPlan,
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
        ended(self.shown())
    }

    fn shown(&self) -> io::Result<ExitCode> {
        let Some(opened) = self.of.opened()? else { return Ok(ExitCode::from(2)) };
        let (archive, file) = (&opened.archive, &opened.file);
        let Some(plan) = archive.plan(file) else { return Ok(ExitCode::from(2)) };
        let meant = self.of.meant(&plan)?;
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
                    opened.say_lacking(dive, &lacking);
                }
            }
        }
        if !dives.is_empty() {
            let tracks = Tracks { dives, every_s: self.every };
            match self.show(&tracks, self.of.measures(&opened)) {
                // Whoever reads has read enough.
                Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {}
                shown => shown?,
            }
        }
        Ok(ExitCode::from(if complete { 0 } else { 2 }))
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

    fn show(&self, tracks: &Tracks<'_>, measures: Measures) -> io::Result<()> {
        let mut out: Box<dyn Write> =
            if self.format == Format::Table { page() } else { Box::new(BufWriter::new(io::stdout().lock())) };
        match self.format {
            Format::Table => {
                table::write(&mut out, tracks, measures, super::terminal::width(), super::terminal::room())?
            }
            Format::Json => json::write(&mut out, tracks)?,
        }
        out.flush()
    }
}
