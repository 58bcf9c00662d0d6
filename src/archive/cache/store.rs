//! The cache on disk: one packed file a root.
//!
//! A line that names the format, a print of the executable that wrote it, a print of the rest, and the entries packed. It
//! is written beside its place and put there by renaming, so that two runs at once leave one or the other; a file that is
//! cut, changed or another executable's is as good as none.

use std::collections::HashMap;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::Path;

use super::Entry;
use crate::archive::files::fingerprint::Fingerprint;
use crate::source::FileId;

const HEAD: &[u8] = b"leadsman findings 1\n";
/// The largest cache that is read, bytes: some hundred thousand plans'.
const MOST_BYTES: u64 = 512 * 1024 * 1024;
const PRINT: usize = size_of::<Fingerprint>();

/// The entries of a file; `None` where it does not read, does not add up, or is another executable's.
pub(in crate::archive) fn load(path: &Path) -> Option<HashMap<FileId, Entry>> {
    let file = File::open(path).ok()?;
    if file.metadata().ok()?.len() > MOST_BYTES {
        return None;
    }
    let mut bytes = Vec::new();
    file.take(MOST_BYTES).read_to_end(&mut bytes).ok()?;
    let rest = bytes.strip_prefix(HEAD)?;
    let (executable, rest) = rest.split_at_checked(PRINT)?;
    let (fingerprint, packed) = rest.split_at_checked(PRINT)?;
    if executable != self::executable()? || fingerprint != blake3::hash(packed).as_bytes() {
        return None;
    }
    let entries: Vec<(FileId, Entry)> = postcard::from_bytes(packed).ok()?;
    Some(entries.into_iter().collect())
}

/// Writes entries, readable by nobody else.
pub(in crate::archive) fn save(path: &Path, mut entries: Vec<(&FileId, &Entry)>) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    entries.sort_by_key(|(id, _)| *id);
    let packed = postcard::to_stdvec(&entries).map_err(io::Error::other)?;
    let executable = executable().ok_or_else(|| io::Error::other("can't read the executable"))?;
    // Made with mode 0600, where there are modes.
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    for part in [HEAD, &executable, blake3::hash(&packed).as_bytes(), &packed] {
        file.write_all(part)?;
    }
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}

/// The print of the executable that runs.
fn executable() -> Option<Fingerprint> {
    let mut hasher = blake3::Hasher::new();
    hasher.update_reader(File::open(std::env::current_exe().ok()?).ok()?).ok()?;
    Some(hasher.finalize().into())
}
