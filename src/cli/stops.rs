//! `leadsman stops`: the tables that a dive is planned by.

use std::io::{self, BufWriter, Write};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::of_plan::OfPlan;
use super::page::page;
use super::terminal::ended;
use crate::pages::stops::{Schedule, csv, json, table};
use crate::words::Measures;

/// Show the stops of a plan's dives, diver by diver, and of what may become of them
///
/// For each diver of each dive: where the diver is for how long, until when, on what, at which PO2, and the gas that takes.
/// Below it the same off the loop (on open circuit: bailing out) at the minute from which that takes most, without each deco
/// gas, and deeper and longer by the plan's overruns. Without a gradient no stops are worked out.
///
/// Exit status: 0 when every dive asked for is shown, 2 when one could not be run, does not come back to the surface, or
/// the file could not be read.
#[derive(Debug, Args)]
#[command(after_help = crate::CAUTION)]
pub(super) struct Stops {
    #[command(flatten)]
    of: OfPlan,
    /// How tables are written
    #[arg(long, value_enum, default_value_t = Format::Table)]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Table,
    /// For other programs, as schema/stops.schema.json says
    Json,
    /// A line a row, for spreadsheets
    Csv,
}

impl Stops {
    /// Runs the dives and shows their tables.
    pub(super) fn run(&self) -> ExitCode {
        ended(self.of.show(None, |dives, measures| {
            let schedules: Vec<Schedule<'_>> = dives.into_iter().map(Schedule::of).collect();
            self.write(&schedules, measures)
        }))
    }

    fn write(&self, schedules: &[Schedule<'_>], measures: Measures) -> io::Result<()> {
        let mut out: Box<dyn Write> =
            if self.format == Format::Table { page() } else { Box::new(BufWriter::new(io::stdout().lock())) };
        match self.format {
            Format::Table => table::write(&mut out, schedules, measures, super::terminal::width())?,
            Format::Json => json::write(&mut out, schedules)?,
            Format::Csv => csv::write(&mut out, schedules)?,
        }
        out.flush()
    }
}
