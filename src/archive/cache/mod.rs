//! What earlier runs found, as long as nothing it was found from has changed.
//!
//! An [`Entry`] names the texts that a file's findings were made from, by hash: its own, all that it uses, the plans of the
//! days that its dives begin with, and the whole archive where a proposal was looked for in all of it. It holds exactly
//! while those texts read as they did.

mod stamps;
mod store;

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use jiff::Span;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use self::store::{Kept, Stored, record};
use crate::archive::Archive;
use crate::archive::across::practice::Asked;
use crate::archive::files::file::File;
use crate::archive::files::fingerprint::Fingerprint;
use crate::archive::files::stamp::Stamp;
use crate::archive::files::summary::Summary;
use crate::findings::Finding;
use crate::plan::lower::ThingKind;
use crate::plan::{ResolveError, ResolveErrorKind};
use crate::rules::{Dives, Fact, Fixes, Settled, TABLE};
use crate::source::{FileId, Place};

/// What is asked of every file of an archive, whichever is looked at.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(in crate::archive) struct Head {
    /// What it says that others care for; holds while its own text does.
    summary: Arc<Summary>,
    /// The files that its plan and names were made from, itself first, with their texts' prints.
    inputs: Vec<(FileId, Fingerprint)>,
    /// What the file bore when it was read so, if it was left alone for long enough.
    stamp: Option<Stamp>,
}

/// What was found of one file.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(in crate::archive) struct Entry {
    /// Whether fixes were searched for too.
    searched: bool,
    /// The day of its plan, and the print of all plans that may leave something for it or stand beside it.
    near: Option<(Date, Fingerprint)>,
    /// What was asked of when its divers last dived, and the prints of the plans that tell.
    practice: Vec<(Asked, Fingerprint)>,
    /// The print of the whole archive, where all of it was searched.
    whole: Option<Fingerprint>,
    findings: Vec<Finding>,
    /// Rules by their numbers in the table.
    looked: Vec<u16>,
    lacking: Vec<(Place, String, Vec<u16>)>,
    dives: Dives,
    lowered: Vec<String>,
    uncounted: bool,
}

/// What is known from earlier runs, and what this one adds.
#[derive(Debug, Default)]
pub(crate) struct Cache {
    known: Stored,
    /// Records, as they are written: packed they take a tenth of the room.
    fresh: Mutex<BTreeMap<FileId, Vec<u8>>>,
}

/// Prints of parts of an archive as it is, each worked out once.
#[derive(Debug, Default)]
pub(in crate::archive) struct Fingerprints {
    days: RwLock<HashMap<Date, Fingerprint>>,
    whole: OnceLock<Fingerprint>,
}

impl Cache {
    /// What a file of an earlier run holds; nothing where it does not read, or another executable wrote it.
    pub(crate) fn load(path: &Path) -> Cache {
        Cache { known: Stored::load(path), fresh: Mutex::default() }
    }

    /// Writes what was found now to what is known, and all of it anew where there is much in it that is known no longer.
    ///
    /// # Errors
    /// Whatever the system says.
    pub(crate) fn save(&self, archive: &Archive, path: &Path) -> std::io::Result<()> {
        let fresh = self.fresh.lock().unwrap_or_else(PoisonError::into_inner);
        let stamped = self.known.iter().filter(|(id, _)| !fresh.contains_key(*id)).filter_map(|(id, kept)| {
            let head = self.stamped_anew(archive, id, &kept.head)?;
            Some((id, Cow::Owned(self.known.with_head(id, &head, kept)?)))
        });
        let found = fresh.iter().map(|(id, record)| (id, Cow::Borrowed(&**record)));
        let new: BTreeMap<&FileId, Cow<'_, [u8]>> = found.chain(stamped).collect();
        self.known.save(path, &new, &|id| archive.index().knows(id))
    }

    /// What a file says that others care for, if its text is the one it was found from.
    pub(in crate::archive) fn summary(&self, file: &File) -> Option<&Arc<Summary>> {
        let head = &self.known.get(&file.id)?.head;
        (head.inputs.first()?.1 == file.fingerprint()).then_some(&head.summary)
    }

    /// What is known of a file's findings, if all that they were found from still reads as it did.
    pub(in crate::archive) fn settled(&self, archive: &Archive, id: &FileId, fixes: Fixes) -> Option<Settled> {
        let entry = self.known.entry(self.holding(archive, id)?)?;
        if fixes == Fixes::Searched && !entry.searched {
            return None;
        }
        let near = |(on, fingerprint): &(Date, Fingerprint)| archive.print_near(self, *on) == *fingerprint;
        let whole = |fingerprint: &Fingerprint| archive.print_whole() == *fingerprint;
        let practice =
            |(asked, fingerprint): &(Asked, Fingerprint)| archive.print_practice(self, id, asked) == *fingerprint;
        if !entry.practice.iter().all(practice) {
            return None;
        }
        if !entry.near.as_ref().is_none_or(near) || !entry.whole.as_ref().is_none_or(whole) {
            return None;
        }
        let slugs = |numbers: &[u16]| -> Option<Vec<&'static str>> {
            numbers.iter().map(|number| TABLE.get(usize::from(*number)).map(|rule| rule.slug)).collect()
        };
        let lacking = |(place, fact, rules): &(Place, String, Vec<u16>)| {
            Some(Fact { place: place.clone(), fact: fact.clone(), rules: slugs(rules)? })
        };
        Some(Settled {
            looked: slugs(&entry.looked)?,
            lacking: entry.lacking.iter().map(lacking).collect::<Option<_>>()?,
            dives: entry.dives,
            findings: entry.findings,
            lowered: entry.lowered,
            uncounted: entry.uncounted,
        })
    }

    /// What is kept of a file whose plan and names still are what they were.
    fn holding(&self, archive: &Archive, id: &FileId) -> Option<&Kept> {
        let kept = self.known.get(id)?;
        let holds = |(file, fingerprint): &(FileId, Fingerprint)| archive.file(file).fingerprint() == *fingerprint;
        kept.head.inputs.iter().all(holds).then_some(kept)
    }

    /// Takes in what was found of a file.
    pub(in crate::archive) fn remember(
        &self,
        archive: &Archive,
        id: &FileId,
        links: &[ResolveError],
        settled: &Settled,
        fixes: Fixes,
    ) {
        let resolved = archive.resolved(id);
        let searched = |fault: &ResolveError| {
            matches!(fault.kind, ResolveErrorKind::UnresolvedName | ResolveErrorKind::UseOutside)
        };
        let numbers = |slugs: &[&'static str]| -> Vec<u16> {
            let number = |slug: &&str| TABLE.iter().position(|rule| rule.slug == *slug);
            slugs.iter().filter_map(number).filter_map(|number| u16::try_from(number).ok()).collect()
        };
        let lacking = |fact: &Fact| (fact.place.clone(), fact.fact.clone(), numbers(&fact.rules));
        let practice = archive.practice_asked(id).into_iter().map(|asked| {
            let fingerprint = archive.print_practice(self, id, &asked);
            (asked, fingerprint)
        });
        let head = Head {
            summary: archive.file(id).summary().clone(),
            inputs: resolved.made_from().map(|file| (file.id.clone(), file.fingerprint())).collect(),
            stamp: archive.file(id).stamp(),
        };
        let entry = Entry {
            searched: fixes == Fixes::Searched,
            practice: practice.collect(),
            near: resolved.part().map(|part| (part.on(), archive.print_near(self, part.on()))),
            whole: links.iter().any(searched).then(|| archive.print_whole()),
            findings: settled.findings.clone(),
            looked: numbers(&settled.looked),
            lacking: settled.lacking.iter().map(lacking).collect(),
            dives: settled.dives,
            lowered: settled.lowered.clone(),
            uncounted: settled.uncounted,
        };
        // What can't be packed is worked out again next time.
        if let Some(record) = record(id, &head, &entry) {
            self.fresh.lock().unwrap_or_else(PoisonError::into_inner).insert(id.clone(), record);
        }
    }
}

impl Archive {
    /// The print of all plans that may leave something for one of a day or stand beside it, and of all that they are made from.
    fn print_near(&self, cache: &Cache, on: Date) -> Fingerprint {
        let mut hasher = blake3::Hasher::new();
        let mut day = self.first_that_counts(on);
        while day <= on {
            hasher.update(&self.print_of_day(cache, day));
            let Ok(next) = day.checked_add(Span::new().days(1)) else { break };
            day = next;
        }
        hasher.finalize().into()
    }

    /// The print of the plans that tell of a diver's last dive, and of all that they are made from, a file's own plan aside.
    fn print_practice(&self, cache: &Cache, own: &FileId, asked: &Asked) -> Fingerprint {
        let mut hasher = blake3::Hasher::new();
        let diver = (ThingKind::Diver, asked.diver.clone());
        let plans = self.index().plans_with(&diver, true, asked.first..=asked.last);
        for (_, plan) in plans.filter(|(_, file)| *file != own) {
            self.add_plan(cache, &mut hasher, plan);
        }
        hasher.finalize().into()
    }

    /// Adds all that a plan is made from to a print.
    fn add_plan(&self, cache: &Cache, hasher: &mut blake3::Hasher, plan: &FileId) {
        let mut add = |file: &FileId, fingerprint: &Fingerprint| {
            hasher.update(file.as_str().as_bytes());
            hasher.update(&[0]);
            hasher.update(fingerprint);
        };
        match cache.holding(self, plan) {
            Some(kept) => kept.head.inputs.iter().for_each(|(file, fingerprint)| add(file, fingerprint)),
            None => self.resolved(plan).made_from().for_each(|file| add(&file.id, &file.fingerprint())),
        }
    }

    fn print_of_day(&self, cache: &Cache, day: Date) -> Fingerprint {
        let days = &self.inner.fingerprints.days;
        if let Some(fingerprint) = days.read().unwrap_or_else(PoisonError::into_inner).get(&day) {
            return *fingerprint;
        }
        let mut hasher = blake3::Hasher::new();
        for plan in self.index().plans_of(day) {
            self.add_plan(cache, &mut hasher, plan);
        }
        let fingerprint = hasher.finalize().into();
        days.write().unwrap_or_else(PoisonError::into_inner).insert(day, fingerprint);
        fingerprint
    }

    /// The print of every file.
    fn print_whole(&self) -> Fingerprint {
        *self.inner.fingerprints.whole.get_or_init(|| {
            let mut hasher = blake3::Hasher::new();
            for file in self.walk(&[]) {
                hasher.update(file.as_str().as_bytes());
                hasher.update(&[0]);
                hasher.update(&self.file(&file).fingerprint());
            }
            hasher.finalize().into()
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::archive::{Change, Memory};
    use crate::source::Text;

    const KIT: &str = "diver \"Rowan\"\ncylinder \"S12-04\" size=12\n";

    fn archive() -> Archive {
        let plan = |day: &str, kit: &str| {
            format!(
                "use \"{kit}.kit.kdl\"\nplan \"{day}\" on=\"{day}\" status=dived {{ dive \"one\" {{ descend 9; diver \"Rowan\" \
                 back=\"S12-04\" }} }}\n"
            )
        };
        let files = [
            ("a.kit.kdl", KIT.to_owned()),
            ("b.kit.kdl", KIT.to_owned()),
            ("1.plan.kdl", plan("2027-05-14", "a")),
            ("2.plan.kdl", plan("2027-05-15", "a")),
            ("3.plan.kdl", plan("2027-05-20", "b")),
            ("4.plan.kdl", plan("2027-05-30", "b").replace("Rowan\" b", "Nobody\" b")),
        ];
        let host = files.iter().fold(Memory::new(), |host, (path, text)| host.file(format!("/club/{path}"), text));
        Archive::open(Arc::new(host), Path::new("/club"))
    }

    /// The files whose findings a cache still knows in an archive.
    fn known(cache: &Cache, archive: &Archive) -> Vec<String> {
        let files = archive.walk(&[]).into_iter();
        files
            .filter(|file| cache.settled(archive, file, Fixes::Searched).is_some())
            .map(|file| file.to_string())
            .collect()
    }

    fn found(path: &Path) -> Cache {
        let cache = Arc::new(Cache::load(path));
        let archive = archive().with_cache(cache.clone());
        archive.check(&archive.walk(&[]), &|| ());
        cache.save(&archive, path).unwrap();
        Cache::load(path)
    }

    #[test]
    fn what_is_known_holds_as_long_as_what_it_was_found_from() {
        let folder = tempfile::tempdir().unwrap();
        let cache = found(&folder.path().join("deep/down/cache"));
        let all = ["1.plan.kdl", "2.plan.kdl", "3.plan.kdl", "4.plan.kdl", "a.kit.kdl", "b.kit.kdl"];
        assert_eq!(known(&cache, &archive()), all);
        let after = |file: &str, text: &str| {
            known(&cache, &archive().with(&[Change::Open(FileId::new(file), Text::new(text))]))
        };
        // Who uses the file, and whose proposals were looked for everywhere.
        assert_eq!(after("a.kit.kdl", &format!("{KIT}// more\n")), ["3.plan.kdl", "b.kit.kdl"]);
        // A plan's dives leave something for those of the next two days.
        assert_eq!(after("1.plan.kdl", "plan \"x\" on=\"2027-05-14\"\n"), ["3.plan.kdl", "a.kit.kdl", "b.kit.kdl"]);
        assert_eq!(
            after("3.plan.kdl", "plan \"x\" on=\"2027-05-20\"\n"),
            ["1.plan.kdl", "2.plan.kdl", "a.kit.kdl", "b.kit.kdl"]
        );
        // A plan that is new on a day means something to it; a root file to all.
        assert_eq!(
            after("5.plan.kdl", "plan \"x\" on=\"2027-05-19\"\n"),
            ["1.plan.kdl", "2.plan.kdl", "a.kit.kdl", "b.kit.kdl"]
        );
        assert!(after("leadsman.kdl", "limits { depth 30 }\n").is_empty());
    }

    #[test]
    fn a_file_that_does_not_add_up_is_as_good_as_none() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cache");
        found(&path);
        let whole = std::fs::read(&path).unwrap();
        let archive = archive();
        let all = archive.walk(&[]);
        let right = |file: &FileId| {
            let found = archive.check(std::slice::from_ref(file), &|| ());
            found.files.into_iter().next().unwrap().1
        };
        let right: Vec<Vec<Finding>> = all.iter().map(right).collect();
        assert!(right.iter().any(|findings| !findings.is_empty()), "there is something to say");
        // How many files are known from bytes; what is known is right.
        let known = |bytes: &[u8], what: &str| -> usize {
            std::fs::write(&path, bytes).unwrap();
            let cache = Cache::load(&path);
            let of = |file: &FileId| cache.settled(&archive, file, Fixes::Searched).map(|settled| settled.findings);
            let said: Vec<Option<Vec<Finding>>> = all.iter().map(of).collect();
            for (said, right) in said.iter().zip(&right) {
                assert!(said.as_ref().is_none_or(|said| said == right), "{what}");
            }
            said.iter().flatten().count()
        };
        assert_eq!(known(&whole, "whole"), 6);
        for at in (0..whole.len()).step_by(7).chain([0, whole.len() - 1]) {
            let mut changed = whole.clone();
            changed[at] ^= 0x20;
            assert!(known(&changed, &format!("byte {at}")) < 6, "byte {at} says nothing");
        }
        // What was cut short costs what came after it alone.
        let left: Vec<usize> = (0..whole.len()).map(|kept| known(&whole[..kept], &format!("{kept} bytes"))).collect();
        assert!(left.is_sorted() && (left[10], left[whole.len() - 1]) == (0, 5), "{left:?}");
        assert_eq!(known(&[&whole[..], b"x"].concat(), "more than whole"), 6);
        assert_eq!(Cache::load(&folder.path().join("none")).known.len(), 0);
    }

    #[test]
    fn what_is_new_is_added_at_the_end_until_most_is_outlived() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cache");
        found(&path);
        let mut before = std::fs::read(&path).unwrap();
        let (first, mut anew) = (before.len(), 0);
        for round in 0..200 {
            let cache = Arc::new(Cache::load(&path));
            let text = format!("plan \"x\" on=\"2027-05-20\" // {round}\n");
            let changed = archive().with(&[Change::Open(FileId::new("3.plan.kdl"), Text::new(&text))]);
            let changed = changed.with_cache(cache.clone());
            changed.check(&changed.walk(&[]), &|| ());
            cache.save(&changed, &path).unwrap();
            let after = std::fs::read(&path).unwrap();
            if after.starts_with(&before) {
                assert!(after.len() - before.len() < 2 * first / 3, "what the change touches alone");
            } else {
                anew += 1;
            }
            assert!(after.len() < 20 * first, "what is outlived goes");
            assert_eq!(known(&Cache::load(&path), &changed).len(), 6, "round {round}");
            before = after;
        }
        assert!((1..=5).contains(&anew), "{anew}");
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_it() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cache");
        found(&path);
        assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
    }
}
