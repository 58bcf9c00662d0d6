//! `leadsman track`: a plan's dives as they would go.

use std::io::{self, BufWriter, Write};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::of_plan::OfPlan;
use super::page::page;
use super::terminal::ended;
use crate::pages::track::{Tracks, json, table};
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
        ended(self.of.show(self.scenario.as_deref(), |dives, measures| {
            self.write(&Tracks { dives, every_s: self.every }, measures)
        }))
    }

    fn write(&self, tracks: &Tracks<'_>, measures: Measures) -> io::Result<()> {
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
