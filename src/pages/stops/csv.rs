//! Tables of stops as comma-separated values: a row a line, each with the dive, the diver and the table that it is of.

use std::io::{self, Write};

use serde::Serialize;

use super::Schedule;
use super::json::{Line, line};
use crate::CAUTION;

#[derive(Serialize)]
struct Record<'a>(&'a str, &'a str, &'a str, Line<'a>);

const HEADS: [&str; 12] = [
    "dive",
    "diver",
    "table",
    "depth_m",
    "minutes",
    "run_min",
    "breathing",
    "mix",
    "po2_low_bar",
    "po2_high_bar",
    "litres",
    "why",
];

/// Writes tables as comma-separated values, the caution in a comment above.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, schedules: &[Schedule<'_>]) -> io::Result<()> {
    writeln!(out, "# {CAUTION}")?;
    let mut lines = csv::WriterBuilder::new().has_headers(false).from_writer(out);
    lines.write_record(HEADS)?;
    for schedule in schedules {
        for table in &schedule.tables {
            for row in &table.rows {
                lines.serialize(Record(schedule.dive(), schedule.diver(), &table.name, line(row)))?;
            }
        }
    }
    lines.flush()
}
