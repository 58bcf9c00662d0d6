//! Tables of stops for people.

use std::io::{self, Write};

use super::{Row, Schedule, Table};
use crate::CAUTION;
use crate::pages::columns::{self, Columns};
use crate::pages::track::unending;
use crate::pages::{measured, titled};
use crate::rules::say;
use crate::source::clean::clean;
use crate::words::Measures;

/// Writes tables, none wider than `width` where that can be, the caution below.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(
    out: &mut dyn Write,
    schedules: &[Schedule<'_>],
    measures: Measures,
    width: usize,
) -> io::Result<()> {
    for schedule in schedules {
        writeln!(out, "{}", titled(&schedule.simulated.dive))?;
        for table in &schedule.tables {
            one(out, table, measures, width)?;
        }
        if let Some(said) = unending(&schedule.simulated) {
            writeln!(out, "{}", textwrap::fill(&clean(&said), width.max(20)))?;
        }
        writeln!(out)?;
    }
    if schedules.iter().any(|schedule| !schedule.has_stops()) {
        let said = "The limits give no gradient: no stops are worked out, and each way up goes straight to the surface. Write \
                    `gradient low= high=` into them.";
        writeln!(out, "{}", textwrap::fill(said, width.max(20)))?;
    }
    writeln!(out, "{}", textwrap::fill(CAUTION, width.max(20)))
}

/// A column: its head, its unit, what it says of a row, whether it is text, and when it is spared, as of
/// [`columns::Column`].
struct Column {
    head: &'static str,
    unit: fn(Measures) -> &'static str,
    says: fn(&Row, Measures) -> String,
    is_text: bool,
    spared: u8,
}

const COLUMNS: &[Column] = &[
    Column { head: "", unit: |_| "", says: |row, _| row.doing.word().replace('-', " "), is_text: true, spared: 0 },
    Column {
        head: "depth",
        unit: measured::depth_unit,
        says: |row, measures| measured::depth(row.depth_m, measures).into(),
        is_text: false,
        spared: 0,
    },
    Column {
        head: "there",
        unit: |_| "min:s",
        says: |row, _| say::run_time(row.minutes).into(),
        is_text: false,
        spared: 0,
    },
    Column {
        head: "run",
        unit: |_| "min:s",
        says: |row, _| say::run_time(row.run_min).into(),
        is_text: false,
        spared: 0,
    },
    Column { head: "breathing", unit: |_| "", says: |row, _| row.breathing.clone(), is_text: true, spared: 1 },
    Column { head: "mix", unit: |_| "", says: |row, _| row.mix.clone(), is_text: true, spared: 3 },
    Column { head: "PO2", unit: |_| "bar", says: |row, _| po2(row), is_text: false, spared: 2 },
    Column {
        head: "gas",
        unit: measured::gas_unit,
        says: |row, measures| measured::gas(row.litres, measures).into(),
        is_text: false,
        spared: 4,
    },
];

fn po2(row: &Row) -> String {
    let (low, high) = (String::from(say::po2(row.po2_bar.0)), String::from(say::po2(row.po2_bar.1)));
    if low == high { high } else { format!("{low}–{high}") }
}

fn one(out: &mut dyn Write, table: &Table, measures: Measures, width: usize) -> io::Result<()> {
    if let Some(title) = &table.title {
        writeln!(out, "  {}", clean(&title.told(measures)))?;
    }
    let columns = COLUMNS.iter().map(|column| columns::Column {
        head: column.head.to_owned(),
        unit: (column.unit)(measures).to_owned(),
        cells: table.rows.iter().map(|row| (column.says)(row, measures)).collect(),
        is_text: column.is_text,
        spared: column.spared,
    });
    let columns = Columns::fitted(columns.collect(), width);
    columns.write_heads(out)?;
    for row in 0..table.rows.len() {
        columns.write_row(out, row)?;
    }
    if table.surfaces_min.is_none() {
        writeln!(out, "  This way does not end at the surface.")?;
    }
    Ok(())
}
