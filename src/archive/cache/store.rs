//! The cache on disk: one file a root, to which runs add.
//!
//! A line that names the format, what tells the executable that wrote it from others, and records: each the lengths and
//! prints of its two parts, what is asked of every file of an archive ([`Head`]), and the rest packed, which is unpacked
//! when somebody asks. A later record of a file stands for an earlier one. What does not add up at the end, a run's that was
//! cut short, is dropped; what does not add up anywhere is as good as none, and so is another executable's file. A record is
//! added at the end in one go. Where more is outlived than lives, all is written anew beside its place and put there by
//! renaming.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::ops::Range;
use std::path::Path;

use foldhash::fast::RandomState;
use rayon::prelude::*;
use serde::de::DeserializeOwned;

use super::{Entry, Head};
use crate::archive::files::fingerprint::Fingerprint;
use crate::archive::files::unfinished::Unfinished;
use crate::source::FileId;

const NAME: &[u8] = b"leadsman findings 3\n";
/// The largest cache that is read, bytes: some hundred thousand plans'.
const MOST_BYTES: u64 = 512 * 1024 * 1024;
const PRINT: usize = size_of::<Fingerprint>();
/// The lengths and the prints of a record's parts.
const LENGTHS: usize = 2 * (size_of::<u32>() + PRINT);
/// So many records may be outlived before it matters.
const FEW: usize = 64;

/// What a file held when it was read.
#[derive(Debug, Default)]
pub(in crate::archive) struct Stored {
    bytes: Vec<u8>,
    known: HashMap<FileId, Kept, RandomState>,
    /// How many records there are, outlived ones among them.
    records: usize,
    /// Whether all of it read.
    whole: bool,
}

/// A record.
#[derive(Debug)]
pub(in crate::archive) struct Kept {
    pub head: Head,
    /// All of it, where it lies in the bytes.
    all: Range<usize>,
    rest: Range<usize>,
    print: Fingerprint,
}

impl Stored {
    /// What a file holds; nothing where it can't be read or is another executable's.
    pub(super) fn load(path: &Path) -> Stored {
        let Some(bytes) = read(path) else { return Stored::default() };
        let Some(begins) = executable().and_then(|own| starts(&bytes, &own)) else { return Stored::default() };
        let (parts, whole) = parts(&bytes, begins);
        let kept = |part: &Part| -> Option<(FileId, Kept)> {
            let (id, head) = unpacked(bytes.get(part.head.clone())?, &part.head_print)?;
            Some((id, Kept { head, all: part.all.clone(), rest: part.rest.clone(), print: part.rest_print }))
        };
        let read: Vec<Option<(FileId, Kept)>> = parts.par_iter().map(kept).collect();
        let whole = whole && read.iter().all(Option::is_some);
        // A later one takes the place of an earlier one.
        let known = read.into_iter().flatten().collect();
        Stored { records: parts.len(), bytes, known, whole }
    }

    pub(super) fn get(&self, id: &FileId) -> Option<&Kept> {
        self.known.get(id)
    }

    #[cfg(test)]
    pub(super) fn len(&self) -> usize {
        self.known.len()
    }

    /// What is known of a file beside its head; `None` where it does not add up.
    pub(super) fn entry(&self, kept: &Kept) -> Option<Entry> {
        unpacked(self.bytes.get(kept.rest.clone())?, &kept.print)
    }

    /// What is known, in no order.
    pub(super) fn iter(&self) -> impl Iterator<Item = (&FileId, &Kept)> {
        self.known.iter()
    }

    /// A known record with another head.
    pub(super) fn with_head(&self, id: &FileId, head: &Head, kept: &Kept) -> Option<Vec<u8>> {
        together(&postcard::to_stdvec(&(id, head)).ok()?, self.bytes.get(kept.rest.clone())?, &kept.print)
    }

    /// Keeps what is new, readable by nobody else, of the files that there still are.
    pub(super) fn save(
        &self,
        path: &Path,
        new: &BTreeMap<&FileId, Cow<'_, [u8]>>,
        there_is: &dyn Fn(&FileId) -> bool,
    ) -> io::Result<()> {
        let owner = executable().ok_or_else(|| io::Error::other("can't tell the executable"))?;
        let outlived = |records: usize, live: usize| records > 2 * live + FEW;
        let live = self.known.len() + new.keys().filter(|id| !self.known.contains_key(**id)).count();
        if self.whole && !outlived(self.records + new.len(), live) {
            let records = new.values().map(|record| &**record).collect::<Vec<_>>().concat();
            return if records.is_empty() { Ok(()) } else { add(path, &owner, &records) };
        }
        let kept = self.known.iter().filter(|(id, _)| !new.contains_key(*id) && there_is(id));
        let kept = kept.filter_map(|(id, kept)| Some((id, self.bytes.get(kept.all.clone())?)));
        let mut all: Vec<(&FileId, &[u8])> = kept.chain(new.iter().map(|(id, record)| (*id, &**record))).collect();
        all.sort_by_key(|(id, _)| *id);
        write_anew(path, &owner, all.into_iter().map(|(_, bytes)| bytes))
    }
}

fn read(path: &Path) -> Option<Vec<u8>> {
    // Looked at before it is opened, since opening a pipe would wait for a writer.
    if !path.metadata().ok()?.is_file() {
        return None;
    }
    let file = File::open(path).ok()?;
    let long = file.metadata().ok()?.len();
    if long > MOST_BYTES {
        return None;
    }
    let mut bytes = Vec::with_capacity(usize::try_from(long).ok()?);
    file.take(MOST_BYTES).read_to_end(&mut bytes).ok()?;
    Some(bytes)
}

/// Where the records begin, if an executable wrote the file.
fn starts(bytes: &[u8], executable: &Fingerprint) -> Option<usize> {
    let rest = bytes.strip_prefix(NAME)?.strip_prefix(executable)?;
    Some(bytes.len() - rest.len())
}

/// A record's parts, where they lie.
struct Part {
    all: Range<usize>,
    head: Range<usize>,
    head_print: Fingerprint,
    rest: Range<usize>,
    rest_print: Fingerprint,
}

/// The records from a place on, and whether nothing is left over.
fn parts(bytes: &[u8], begins: usize) -> (Vec<Part>, bool) {
    let (mut parts, mut at) = (Vec::new(), begins);
    while let Some(part) = part(bytes, at) {
        at = part.all.end;
        parts.push(part);
    }
    (parts, at == bytes.len())
}

fn part(bytes: &[u8], at: usize) -> Option<Part> {
    let begins = at.checked_add(LENGTHS)?;
    let (numbers, prints) = bytes.get(at..begins)?.split_at_checked(2 * size_of::<u32>())?;
    let long = |place: usize| -> Option<usize> {
        let four = numbers.get(place..place + size_of::<u32>())?.try_into().ok()?;
        usize::try_from(u32::from_le_bytes(four)).ok()
    };
    let (head_print, rest_print) = prints.split_at_checked(PRINT)?;
    let head = begins..begins.checked_add(long(0)?)?;
    let rest = head.end..head.end.checked_add(long(size_of::<u32>())?)?;
    (rest.end <= bytes.len()).then_some(())?;
    Some(Part {
        all: at..rest.end,
        head,
        head_print: head_print.try_into().ok()?,
        rest,
        rest_print: rest_print.try_into().ok()?,
    })
}

/// A file's record; `None` of what can't be packed.
pub(super) fn record(id: &FileId, head: &Head, rest: &Entry) -> Option<Vec<u8>> {
    let (head, rest) = (postcard::to_stdvec(&(id, head)).ok()?, postcard::to_stdvec(rest).ok()?);
    together(&head, &rest, blake3::hash(&rest).as_bytes())
}

fn together(head: &[u8], rest: &[u8], rest_print: &Fingerprint) -> Option<Vec<u8>> {
    let long = |part: &[u8]| u32::try_from(part.len()).ok().map(u32::to_le_bytes);
    let (head_long, rest_long) = (long(head)?, long(rest)?);
    Some([&head_long[..], &rest_long, blake3::hash(head).as_bytes(), rest_print, head, rest].concat())
}

fn unpacked<T: DeserializeOwned>(bytes: &[u8], print: &Fingerprint) -> Option<T> {
    (blake3::hash(bytes).as_bytes() == print).then(|| postcard::from_bytes(bytes).ok())?
}

/// Adds records to a file that the same executable wrote.
fn add(path: &Path, owner: &Fingerprint, records: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().read(true).append(true).open(path)?;
    let mut begins = vec![0; NAME.len() + PRINT];
    file.read_exact(&mut begins)?;
    // Another run may have put another file there meanwhile.
    if starts(&begins, owner).is_none() {
        return Ok(());
    }
    file.write_all(records)
}

fn write_anew<'a>(path: &Path, owner: &Fingerprint, records: impl Iterator<Item = &'a [u8]>) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    // Made with mode 0600, where there are modes.
    let new = Unfinished::begin(folder)?;
    let mut file = io::BufWriter::new(new.as_file());
    file.write_all(NAME)?;
    file.write_all(owner)?;
    for record in records {
        file.write_all(record)?;
    }
    file.flush()?;
    drop(file);
    new.put(path)
}

/// What tells the executable that runs from any other: where the system says when a file came to be as it is, which nobody
/// sets, that and its place; elsewhere all its bytes.
fn executable() -> Option<Fingerprint> {
    let path = std::env::current_exe().ok()?;
    let mut hasher = blake3::Hasher::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let it = path.metadata().ok()?;
        hasher.update(path.as_os_str().as_encoded_bytes());
        for number in [it.size(), it.dev(), it.ino()] {
            hasher.update(&number.to_le_bytes());
        }
        for number in [it.mtime(), it.mtime_nsec(), it.ctime(), it.ctime_nsec()] {
            hasher.update(&number.to_le_bytes());
        }
    }
    #[cfg(not(unix))]
    hasher.update_reader(File::open(path).ok()?).ok()?;
    Some(hasher.finalize().into())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Whatever a record holds whose prints add up, it is read or is as good as none.
        #[test]
        fn any_bytes_with_prints_that_add_up_are_borne(
            parts in prop::collection::vec((prop::collection::vec(any::<u8>(), 0..80), prop::collection::vec(any::<u8>(), 0..200)), 0..5)
        ) {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("cache");
            let records: Vec<Vec<u8>> =
                parts.iter().map(|(head, rest)| together(head, rest, blake3::hash(rest).as_bytes()).unwrap()).collect();
            write_anew(&path, &executable().unwrap(), records.iter().map(Vec::as_slice)).unwrap();
            let stored = Stored::load(&path);
            prop_assert_eq!(stored.records, parts.len());
            for (_, kept) in stored.iter() {
                let _ = stored.entry(kept);
            }
        }
    }
}
