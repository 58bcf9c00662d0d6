//! Files that bear the stamp that they bore when they were read: they are not opened to see that they read as they did.

use super::{Cache, Head};
use crate::archive::Archive;
use crate::archive::files::fingerprint::Fingerprint;
use crate::archive::files::stamp::Stamp;
use crate::source::FileId;

impl Cache {
    /// What stands for the text of a file that bears a stamp, if it bore the same when it was read.
    pub(in crate::archive) fn told(&self, id: &FileId, stamp: &Stamp) -> Option<Fingerprint> {
        let head = &self.known.get(id)?.head;
        (head.stamp.as_ref() == Some(stamp)).then_some(head.inputs.first()?.1)
    }

    /// What is asked of a file that was opened because it bore another stamp, and then read as it did.
    pub(super) fn stamped_anew(&self, archive: &Archive, id: &FileId, head: &Head) -> Option<Head> {
        let file = archive.at_hand(id)?;
        let stamp = file.stamp().filter(|stamp| head.stamp.as_ref() != Some(stamp))?;
        let reads_so = head.inputs.first()?.1 == file.fingerprint();
        reads_so.then(|| Head { stamp: Some(stamp), ..head.clone() })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::collections::BTreeMap;
    use std::path::{Path, PathBuf};
    use std::sync::{Arc, Mutex};

    use super::*;
    use crate::archive::{Host, HostError, Memory, Walked};
    use crate::findings::Finding;

    /// Files of which each says when it was written, and which remember who was opened.
    #[derive(Debug, Default)]
    struct Aged {
        files: Memory,
        written: BTreeMap<PathBuf, i64>,
        opened: Mutex<Vec<String>>,
    }

    impl Aged {
        fn file(mut self, path: &str, at: i64, text: &str) -> Aged {
            let path = Path::new("/club").join(path);
            self.files = self.files.file(&path, text);
            self.written.insert(path, at);
            self
        }
    }

    impl Host for Aged {
        fn read(&self, path: &Path) -> Result<Vec<u8>, HostError> {
            self.opened.lock().unwrap().extend(path.file_name().map(|name| name.to_string_lossy().into_owned()));
            self.files.read(path)
        }

        fn is_file(&self, path: &Path) -> bool {
            self.files.is_file(path)
        }

        fn canonical(&self, path: &Path) -> Result<PathBuf, HostError> {
            self.files.canonical(path)
        }

        fn stamp(&self, path: &Path) -> Option<Stamp> {
            let size = self.files.read(path).ok()?.len();
            Some(Stamp::made(size.try_into().ok()?, *self.written.get(path)?))
        }

        fn walk(&self, below: &Path, root: &Path) -> Walked {
            self.files.walk(below, root)
        }
    }

    const KIT: &str = "diver \"Rowan\"\ncylinder \"S12-04\" size=12\n";

    fn club(kit: (i64, &str), first: (i64, &str)) -> Aged {
        let plan = |day: &str, more: &str| {
            format!(
                "use \"a.kit.kdl\"\nplan \"{day}\" on=\"{day}\" status=dived {{ dive \"one\" {{ descend 9; diver \"Rowan\" \
                 back=\"S12-04\" }} }}\n{more}"
            )
        };
        let files = Aged::default().file("a.kit.kdl", kit.0, kit.1);
        let files = files.file("1.plan.kdl", first.0, &plan("2027-05-14", first.1));
        files.file("2.plan.kdl", 1, &plan("2027-05-20", "")).file("3.plan.kdl", 1, &plan("2027-06-20", ""))
    }

    /// What a run with the cache of a path finds, and the files that it opens.
    fn run(files: Aged, path: &Path) -> (Vec<(FileId, Vec<Finding>)>, Vec<String>) {
        let files = Arc::new(files);
        let cache = Arc::new(Cache::load(path));
        let archive = Archive::open(files.clone(), Path::new("/club")).with_cache(cache.clone());
        let found = archive.check(&archive.walk(&[]), &|| ()).files;
        cache.save(&archive, path).unwrap();
        let mut opened = files.opened.lock().unwrap().clone();
        opened.retain(|file| file.ends_with("plan.kdl") || file.ends_with("kit.kdl"));
        opened.sort();
        (found, opened)
    }

    #[test]
    fn what_was_left_alone_is_not_opened() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cache");
        let all = ["1.plan.kdl", "2.plan.kdl", "3.plan.kdl", "a.kit.kdl"];
        let (first, opened) = run(club((1, KIT), (1, "")), &path);
        assert_eq!(opened, all);
        let (again, opened) = run(club((1, KIT), (1, "")), &path);
        assert_eq!((again, opened), (first.clone(), Vec::new()));
        // One that was written to is opened, and what rests on it: what is used, where it is used.
        let (changed, opened) = run(club((1, KIT), (2, "// more\n")), &path);
        assert_eq!((changed.len(), &opened[..]), (4, &["1.plan.kdl".to_owned(), "a.kit.kdl".to_owned()][..]));
        let other = format!("{KIT}cylinder \"S12-04\" size=10\n");
        let (changed, opened) = run(club((3, &other), (2, "// more\n")), &path);
        assert_eq!(opened, all);
        let nowhere = folder.path().join("none");
        assert_eq!(changed, run(club((3, &other), (2, "// more\n")), &nowhere).0, "as if there had been no cache");
        assert_ne!(changed, first);
    }

    #[test]
    fn what_was_written_again_as_it_was_is_opened_once() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cache");
        let (first, _) = run(club((1, KIT), (1, "")), &path);
        let (again, opened) = run(club((1, KIT), (7, "")), &path);
        assert_eq!((again, opened), (first.clone(), vec!["1.plan.kdl".to_owned()]));
        let (again, opened) = run(club((1, KIT), (7, "")), &path);
        assert_eq!((again, opened), (first, Vec::new()));
    }

    #[test]
    fn what_is_read_counts_and_not_what_its_stamp_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cache");
        run(club((1, KIT), (1, "// one\n")), &path);
        // The same stamp over another text of the same length: no system does that, but a clock that is set back.
        let files = Arc::new(club((1, KIT), (1, "// two\n")));
        let cache = Arc::new(Cache::load(&path));
        let archive = Archive::open(files, Path::new("/club")).with_cache(cache.clone());
        let id = FileId::new("1.plan.kdl");
        let file = archive.file(&id);
        let told = file.fingerprint();
        assert!(file.text().as_ref().unwrap().as_str().ends_with("two\n"));
        assert_ne!(file.fingerprint(), told);
        archive.check(std::slice::from_ref(&id), &|| ());
        cache.save(&archive, &path).unwrap();
        let kept = Cache::load(&path);
        assert_eq!(kept.known.get(&id).unwrap().head.inputs[0].1, file.fingerprint());
    }
}
