//! What differs between two texts of a file, as lines taken out and put in.

use std::io::{self, Write};

use similar::TextDiff;

use crate::source::clean::clean;

/// Lines around what differs.
const AROUND: usize = 3;

/// Writes what differs between two texts of the file of a name.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(super) fn write(out: &mut dyn Write, name: &str, before: &str, after: &str) -> io::Result<()> {
    let diff = TextDiff::from_lines(before, after);
    let told = diff.unified_diff().context_radius(AROUND).header(name, name).to_string();
    told.lines().try_for_each(|line| writeln!(out, "{}", clean(line)))
}
