//! Columns side by side, as many as a page has room for.

use std::io::{self, Write};

use textwrap::core::display_width;

use crate::source::clean::clean;

/// A column: its head, its unit, and a cell a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Column {
    /// Its head.
    pub head: String,
    /// What its figures are in.
    pub unit: String,
    /// Its cells, from the top.
    pub cells: Vec<String>,
    /// Whether it is words, which stand to the left; figures stand to the right.
    pub is_text: bool,
    /// When it goes from a page that is too narrow: the greatest first, 0 never.
    pub spared: u8,
}

/// Columns that have found room.
#[derive(Debug)]
pub(super) struct Columns(Vec<(Column, usize)>);

impl Columns {
    /// Those of `columns` for which `room` suffices; no fewer than those that are never spared.
    pub(super) fn fitted(columns: Vec<Column>, room: usize) -> Columns {
        let mut columns: Vec<(Column, usize)> = columns.into_iter().map(measured).collect();
        while columns.iter().map(|(_, wide)| wide + GAP.len()).sum::<usize>() > room {
            let Some(most) = columns.iter().map(|(column, _)| column.spared).max().filter(|most| *most > 0) else {
                break;
            };
            columns.retain(|(column, _)| column.spared != most);
        }
        Columns(columns)
    }

    /// How wide the first is, the gap before it aside.
    pub(super) fn first_wide(&self) -> usize {
        self.0.first().map_or(0, |(_, wide)| *wide)
    }

    /// Writes the heads, and the units below them.
    ///
    /// # Errors
    /// Whatever keeps `out` from being written to.
    pub(super) fn write_heads(&self, out: &mut dyn Write) -> io::Result<()> {
        self.write(out, |column| &column.head)?;
        self.write(out, |column| &column.unit)
    }

    /// Writes a row, counted from 0.
    ///
    /// # Errors
    /// Whatever keeps `out` from being written to.
    pub(super) fn write_row(&self, out: &mut dyn Write, row: usize) -> io::Result<()> {
        self.write(out, |column| column.cells.get(row).map_or("", String::as_str))
    }

    fn write<'a>(&'a self, out: &mut dyn Write, cell: impl Fn(&'a Column) -> &'a str) -> io::Result<()> {
        let mut line = String::new();
        for (column, wide) in &self.0 {
            let cell = cell(column);
            let space = " ".repeat(wide.saturating_sub(display_width(cell)));
            line += GAP;
            line += &if column.is_text { format!("{cell}{space}") } else { format!("{space}{cell}") };
        }
        writeln!(out, "{}", line.trim_end())
    }
}

/// What parts a column from what stands before it.
const GAP: &str = "  ";

/// A column with nothing in it that a terminal would obey, and how wide it is.
fn measured(mut column: Column) -> (Column, usize) {
    let mut wide = 0;
    for cell in [&mut column.head, &mut column.unit].into_iter().chain(&mut column.cells) {
        *cell = clean(cell).into_owned();
        wide = wide.max(display_width(cell));
    }
    (column, wide)
}
