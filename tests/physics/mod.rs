//! The formulas against the outside: published standards and tables, independent libraries, worked examples.
//!
//! Each table under `tests/reference/` says in its own header, and row by row, where its figures were found.

mod decompression;
mod dives;
mod failure;
mod oracles;
mod overhead;
mod practice;
mod properties;
mod random_plans;
mod schedules;
mod sharing;
mod single_failures;
mod sweeps;
mod tables;
mod tracks;
mod transients;
mod ways_out;

use std::path::Path;

/// The rows of a table in `tests/reference/`, without its comments and header.
pub fn table(name: &str) -> Vec<csv::StringRecord> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(name);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_path(&path).unwrap();
    let rows: Vec<_> = reader.records().collect::<Result<_, _>>().unwrap();
    assert!(!rows.is_empty(), "{name} holds no rows");
    rows
}

/// A cell of a row as a number.
pub fn number(row: &csv::StringRecord, column: usize) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{:?} is no number in {row:?}", &row[column]))
}

/// Looks that two numbers are within a tolerance of each other.
#[track_caller]
pub fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} is not {expected} ± {tolerance}");
}
