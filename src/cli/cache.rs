//! Where what a run found is kept for the next one.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::archive::{Archive, Cache, user_folder};

/// Works over an archive that goes by what earlier runs found, and keeps what this one finds. Whatever hinders that hinders
/// nothing else.
pub(super) fn over<T>(archive: Archive, work: impl FnOnce(&Archive) -> T) -> (Archive, T) {
    let Some(path) = path(archive.root()) else {
        let done = work(&archive);
        return (archive, done);
    };
    let cache = Arc::new(Cache::load(&path));
    let archive = archive.with_cache(cache.clone());
    let done = work(&archive);
    // A folder that can't be written to costs the next run its time, and no more.
    let _ = cache.save(&archive, &path);
    // The process ends soon: taking thousands of entries apart first would help nobody.
    std::mem::forget(cache);
    (archive, done)
}

/// The file of a root, in the user's folder for what may be lost; `None` where there is no such folder.
fn path(root: &Path) -> Option<PathBuf> {
    let name = blake3::hash(root.as_os_str().as_encoded_bytes()).to_hex();
    Some(user_folder()?.join(format!("{}.findings", name.get(..32)?)))
}
