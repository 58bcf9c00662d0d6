//! Tables of stops for other programs; `schema/stops.schema.json` says what stands where.

use std::io::{self, Write};

use serde::Serialize;

use super::{Row, Schedule, Table};
use crate::CAUTION;
use crate::pages::json::{OfDives, plain, pretty};

/// The version of the shape that is written.
pub(crate) const VERSION: u32 = 1;

/// Writes tables as JSON.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, schedules: &[Schedule<'_>]) -> io::Result<()> {
    let dives = schedules.iter().map(dive).collect();
    pretty(out, &OfDives { version: VERSION, caution: CAUTION, dives })
}

#[derive(Serialize)]
struct Dive<'a> {
    dive: &'a str,
    diver: &'a str,
    unit: Option<&'a str>,
    stops_worked_out: bool,
    tables: Vec<Told<'a>>,
}

#[derive(Serialize)]
struct Told<'a> {
    name: &'a str,
    from_min: Option<f64>,
    rows: Vec<Line<'a>>,
    surfaces_min: Option<f64>,
}

/// A row as programs read it.
#[derive(Serialize)]
pub(super) struct Line<'a> {
    depth_m: f64,
    minutes: f64,
    run_min: f64,
    breathing: &'a str,
    mix: &'a str,
    po2_low_bar: f64,
    po2_high_bar: f64,
    litres: f64,
    why: &'static str,
}

fn dive<'a>(schedule: &'a Schedule<'_>) -> Dive<'a> {
    Dive {
        dive: schedule.dive(),
        diver: schedule.diver(),
        unit: schedule.unit(),
        stops_worked_out: schedule.has_stops(),
        tables: schedule.tables.iter().map(told).collect(),
    }
}

fn told(table: &Table) -> Told<'_> {
    Told {
        name: &table.name,
        from_min: table.from_min.map(plain),
        rows: table.rows.iter().map(line).collect(),
        surfaces_min: table.surfaces_min.map(plain),
    }
}

pub(super) fn line(row: &Row) -> Line<'_> {
    Line {
        depth_m: plain(row.depth_m.max(0.0)),
        minutes: plain(row.minutes),
        run_min: plain(row.run_min),
        breathing: &row.breathing,
        mix: &row.mix,
        po2_low_bar: plain(row.po2_bar.0),
        po2_high_bar: plain(row.po2_bar.1),
        litres: plain(row.litres),
        why: row.doing.word(),
    }
}
