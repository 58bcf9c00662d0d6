//! One finding a line, for editors and scripts that read `path:line:column:`.

use std::io::{self, Write};

use super::{Sheet, Summary};
use crate::CAUTION;
use crate::source::clean::clean;

/// Writes a sheet as lines: the findings but those accepted before, then the numbers and the caution on lines that begin with `leadsman:`.
/// `lacking` lists the facts that rules lacked, too.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub fn write(out: &mut dyn Write, sheet: &Sheet, lacking: bool) -> io::Result<()> {
    let (listed, left) = sheet.shown();
    for listed in listed {
        let name = sheet.name(listed.archive, &listed.file);
        let name = clean(&name);
        for finding in listed.findings.iter().filter(|finding| !finding.accepted) {
            let (start, _) = listed.lines(&finding.place);
            let (level, message) = (finding.level.word(), clean(&finding.message));
            write!(out, "{name}:{}:{}: {level} {}: {message}", start.line, start.column, finding.rule)?;
            match &finding.waived {
                Some(waived) => writeln!(out, " (waived: {})", clean(&waived.because))?,
                None => writeln!(out)?,
            }
        }
    }
    for told in if lacking { sheet.told_lacking() } else { Vec::new() } {
        writeln!(out, "{}", clean(&told))?;
    }
    writeln!(out, "leadsman: {}", Summary::of(sheet).sentence())?;
    for said in
        sheet.told_unlisted(left).iter().chain(&sheet.told_left_out()).chain(&sheet.lowered()).chain(&sheet.told_gone())
    {
        writeln!(out, "leadsman: {}", clean(said))?;
    }
    writeln!(out, "leadsman: {CAUTION}")
}
