//! Tables of stops for people.

use std::io::{self, Write};

use textwrap::core::display_width;

use super::{Row, Schedule, Table};
use crate::CAUTION;
use crate::pages::measured;
use crate::pages::track::unending;
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
        let breathes = schedule.unit().map_or("open circuit".to_owned(), |unit| format!("unit {unit:?}"));
        let title = format!("dive {:?}, diver {:?}, {breathes}", schedule.dive(), schedule.diver());
        writeln!(out, "{}", clean(&title))?;
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

/// A column: its head, its unit, what it says of a row, whether it is text, and when it goes from a narrow page: the greatest
/// first.
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
    let cells = |column: &Column| -> Vec<String> {
        let said = table.rows.iter().map(|row| clean(&(column.says)(row, measures)).into_owned());
        [column.head.to_owned(), (column.unit)(measures).to_owned()].into_iter().chain(said).collect()
    };
    let mut columns: Vec<(&Column, Vec<String>)> = COLUMNS.iter().map(|column| (column, cells(column))).collect();
    let wide = |cells: &[String]| cells.iter().map(|cell| display_width(cell)).max().unwrap_or(0);
    while columns.iter().map(|(_, cells)| wide(cells) + 2).sum::<usize>() > width {
        let Some(most) = columns.iter().map(|(column, _)| column.spared).max().filter(|most| *most > 0) else { break };
        columns.retain(|(column, _)| column.spared != most);
    }
    let widths: Vec<usize> = columns.iter().map(|(_, cells)| wide(cells)).collect();
    for line in 0..table.rows.len() + 2 {
        let mut text = String::new();
        for ((column, cells), width) in columns.iter().zip(&widths) {
            let cell = cells.get(line).map_or("", String::as_str);
            let space = " ".repeat(width.saturating_sub(display_width(cell)));
            text += &if column.is_text { format!("  {cell}{space}") } else { format!("  {space}{cell}") };
        }
        writeln!(out, "{}", text.trim_end())?;
    }
    if table.surfaces_min.is_none() {
        writeln!(out, "  This way does not end at the surface.")?;
    }
    Ok(())
}
