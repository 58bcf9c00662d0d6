//! Mending for `leadsman check`: what is done, or would be, said.

use std::io::{self, Write};
use std::path::Path;

use super::difference;
use super::fix::{self, Fixes, Left, Mended};
use super::paths::Meant;
use super::progress::Progress;
use super::terminal::complain;
use crate::archive::{Archive, Report};
use crate::pages::file_name;
use crate::source::FileId;

/// Mends files and says on standard error what was done; true if a file could not be mended.
pub(super) fn mend(meant: &mut [Meant], fixes: Fixes, here: &Path) -> bool {
    let mut failed = false;
    for Meant { archive, files, .. } in meant {
        let mended = fix::fix(archive, files, fixes, &|archive| looked_at(archive, files));
        failed |= told(archive, &mended, here);
        *archive = mended.archive;
    }
    failed
}

/// The text of the one file that is meant, which is on no disk, mended; what was done is said on standard error. `None` where
/// there is no such text.
pub(super) fn text(meant: &mut [Meant], fixes: Fixes, here: &Path) -> Option<String> {
    let [Meant { archive, files, .. }] = meant else { return None };
    let file = files.first()?;
    let mended = fix::planned(archive, files, fixes, &|archive| looked_at(archive, files));
    told(archive, &mended, here);
    let text = mended.archive.text(file).ok()?.as_str().to_owned();
    *archive = mended.archive;
    Some(text)
}

/// Writes what mending would change, file by file, as lines taken out and put in.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(super) fn diff(out: &mut dyn Write, meant: &[Meant], fixes: Fixes, here: &Path) -> io::Result<()> {
    for Meant { archive, files, .. } in meant {
        let mended = fix::planned(archive, files, fixes, &|archive| looked_at(archive, files));
        let mut changed: Vec<&FileId> = mended.done.iter().map(|done| &done.file).collect();
        changed.sort();
        changed.dedup();
        for file in changed {
            let (Ok(before), Ok(after)) = (archive.text(file), mended.archive.text(file)) else { continue };
            let name = file_name(archive, file, here);
            difference::write(out, &name, before.as_str(), after.as_str())?;
        }
        for (file, why) in &mended.left {
            complain(left(archive, file, why, here));
        }
    }
    Ok(())
}

fn looked_at(archive: &Archive, files: &[FileId]) -> Report {
    let progress = Progress::new(files.len());
    archive.check(files, &|| progress.step())
}

/// Says what was done; true if a file could not be mended.
fn told(archive: &Archive, mended: &Mended, here: &Path) -> bool {
    for done in &mended.done {
        let name = file_name(archive, &done.file, here);
        complain(format!("mended {name}:{}: {} ({})", done.line, done.title, done.rule));
    }
    let mut failed = false;
    for (file, why) in &mended.left {
        complain(left(archive, file, why, here));
        failed |= !why.is_of_one_fix() && !matches!(why, Left::NotUtf8);
    }
    failed
}

fn left(archive: &Archive, file: &FileId, why: &Left, here: &Path) -> String {
    let name = file_name(archive, file, here);
    if why.is_of_one_fix() { format!("in {name} {why}") } else { format!("left {name} as it is: {why}") }
}
