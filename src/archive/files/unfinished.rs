//! Files that are written beside their place, and take it in one go or not at all.
//!
//! A run that is asked to end takes away what it has begun. One that is killed can't: its file is found by the next run that
//! writes there, by its name, and by that nobody holds it any more.

use std::collections::BTreeSet;
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{LazyLock, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, SystemTime};

use tempfile::NamedTempFile;

/// How the names of such files begin.
const PREFIX: &str = ".leadsman-unfinished-";
/// Between making a file and holding it somebody else may meet it: it is left alone so long.
const MOMENT: Duration = Duration::from_secs(1);
/// Where nothing can be held, no run takes so long to write a file.
const HOUR: Duration = Duration::from_secs(3600);
/// The exit status of a run that was asked to end, as shells have it for an interrupt.
const ENDED: i32 = 130;

/// What this run has begun and not finished.
static BEGUN: LazyLock<Mutex<BTreeSet<PathBuf>>> = LazyLock::new(Mutex::default);

fn begun() -> MutexGuard<'static, BTreeSet<PathBuf>> {
    BEGUN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A file that is not in its place yet; gone when dropped.
#[derive(Debug)]
pub(crate) struct Unfinished {
    file: NamedTempFile,
    _begun: Begun,
}

/// Stands for a file among what is begun.
#[derive(Debug)]
struct Begun(PathBuf);

impl Drop for Begun {
    fn drop(&mut self) {
        begun().remove(&self.0);
    }
}

impl Unfinished {
    /// Begins one in the folder where it shall stand, which only its owner may read. What others that were killed have left
    /// there goes.
    ///
    /// # Errors
    /// Whatever the system says.
    pub(crate) fn begin(folder: &Path) -> io::Result<Unfinished> {
        static ASKED_TO_END: OnceLock<()> = OnceLock::new();
        tidy(folder);
        ASKED_TO_END.get_or_init(|| {
            // Where nothing tells that the run shall end, the next one tidies up.
            let _ = ctrlc::set_handler(|| {
                // Held to the end: nothing is begun any more.
                let begun = begun();
                begun.iter().for_each(|path| drop(fs::remove_file(path)));
                std::process::exit(ENDED);
            });
        });
        // Made and told of under one lock, so that a run that ends between leaves nothing.
        let mut all = begun();
        let file = tempfile::Builder::new().prefix(PREFIX).tempfile_in(folder)?;
        all.insert(file.path().to_owned());
        drop(all);
        // Where nothing can be held, it is known by its age.
        let _ = file.as_file().try_lock();
        let _begun = Begun(file.path().to_owned());
        Ok(Unfinished { file, _begun })
    }

    /// The file, to write to.
    pub(crate) fn as_file(&self) -> &File {
        self.file.as_file()
    }

    /// Puts it in its place, whatever stands there.
    ///
    /// # Errors
    /// Whatever the system says; nothing is left then.
    pub(crate) fn put(self, place: &Path) -> io::Result<()> {
        self.file.persist(place).map(drop).map_err(|error| error.error)
    }

    /// Puts it in its place if nothing stands there.
    ///
    /// # Errors
    /// [`io::ErrorKind::AlreadyExists`], and whatever the system says; nothing is left then.
    pub(crate) fn put_new(self, place: &Path) -> io::Result<()> {
        self.file.persist_noclobber(place).map(drop).map_err(|error| error.error)
    }
}

/// Takes away what runs that were killed have left in a folder.
pub(crate) fn tidy(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let is_ours = entry.file_name().as_encoded_bytes().starts_with(PREFIX.as_bytes());
        if is_ours && entry.file_type().is_ok_and(|kind| kind.is_file()) && is_left(&entry.path()) {
            // Somebody else may have been faster.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Whether nobody holds a file any more.
fn is_left(path: &Path) -> bool {
    let Ok(file) = File::open(path) else { return false };
    match file.try_lock() {
        Ok(()) => is_older(&file, MOMENT),
        Err(TryLockError::WouldBlock) => false,
        Err(TryLockError::Error(_)) => is_older(&file, HOUR),
    }
}

fn is_older(file: &File, than: Duration) -> bool {
    let written = file.metadata().and_then(|it| it.modified());
    written.is_ok_and(|written| SystemTime::now().duration_since(written).is_ok_and(|age| age >= than))
}
