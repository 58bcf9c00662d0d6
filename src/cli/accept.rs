//! Accepting what is found as it is: for an archive that is older than its checks.

use std::io;

use super::paths::Meant;
use super::store;
use crate::CAUTION;
use crate::archive::{Archive, Change};
use crate::findings::Accepted;
use crate::rules::Fixes;

/// Writes what is found in some files, and can be accepted, into their archive's file of accepted findings; what it says
/// of other files stays. Returns what it then holds.
///
/// # Errors
/// Whatever keeps that file from being read or written.
pub(super) fn accept(meant: &mut Meant, progress: &(dyn Fn() + Sync)) -> io::Result<Accepted> {
    let Meant { archive, files, .. } = meant;
    let file = Archive::accepted_file();
    // What is accepted is never mended, so no fix is searched for.
    let report = archive.check_whole(files, Fixes::AtHand, progress);
    if let Some((_, error)) = report.unread.iter().find(|(unread, _)| *unread == file) {
        return Err(io::Error::new(error.source.kind(), error.to_string()));
    }
    let of_all = archive.walk(&[]).iter().all(|file| report.has(file));
    let accepted = archive.accepting(&report, of_all);
    let text = accepted.to_text(CAUTION);
    let path = archive.path_of(&file);
    let written = match archive.text(&file) {
        Ok(before) if before.as_str() == text => Ok(()),
        Ok(before) => store::replace(&path, archive.root(), before.hash(), &text),
        // A file that says nothing is no use to anybody.
        Err(_) if accepted.entries.is_empty() => Ok(()),
        Err(_) => store::create(&path, archive.root(), &text),
    };
    written.map_err(|error| io::Error::other(format!("{}: {error}", path.display())))?;
    *archive = archive.with(&[Change::Touched(file)]);
    Ok(accepted)
}
