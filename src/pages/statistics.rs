//! How often which rule finds something, and where most is found.

use std::collections::BTreeMap;
use std::io::{self, Write};

use super::{Sheet, counted};
use crate::findings::Level;
use crate::source::clean::clean;

/// So many files are told.
const MOST_FILES: usize = 10;

/// Writes the table: rules by how often they are met, and the files with most findings.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, sheet: &Sheet) -> io::Result<()> {
    let listed = sheet.listed();
    let mut rules: BTreeMap<(&str, Level), usize> = BTreeMap::new();
    let mut files: Vec<(usize, String)> = Vec::new();
    for one in &listed {
        let standing = one.findings.iter().filter(|finding| finding.counts());
        let count = standing.map(|finding| *rules.entry((&*finding.rule, finding.level)).or_default() += 1).count();
        files.push((count, sheet.name(one.archive, &one.file)));
    }
    files.retain(|(count, _)| *count > 0);
    files.sort_by(|(a, _), (b, _)| b.cmp(a));
    let mut rules: Vec<_> = rules.into_iter().collect();
    rules.sort_by(|((a, _), count), ((b, _), other)| other.cmp(count).then(a.cmp(b)));
    let wide = rules.iter().map(|(_, count)| count.to_string().len()).max().unwrap_or(1);
    for ((rule, level), count) in rules {
        writeln!(out, "{count:>wide$}  {:<7}  {}", level.word(), clean(rule))?;
    }
    if files.len() > 1 {
        writeln!(out)?;
        for (count, name) in files.iter().take(MOST_FILES) {
            writeln!(out, "{count:>wide$}  {}", clean(name))?;
        }
        if files.len() > MOST_FILES {
            writeln!(out, "and {} with fewer", counted(files.len() - MOST_FILES, "file"))?;
        }
    }
    Ok(())
}
