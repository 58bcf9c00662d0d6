//! Findings that were accepted as they were: which of those found now they cover, and which of them are gone.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::io;
use std::sync::Arc;

use crate::archive::{Archive, HostError, Report};
use crate::findings::{ACCEPTED, Accepted, Entry, Finding, Level};
use crate::rules;
use crate::source::{FileId, Place, Span};
use crate::syntax::{NodeId, Tree, Value};

/// The file of accepted findings as it reads, by the files that they stand in.
#[derive(Debug, Default)]
pub(in crate::archive) struct Ledger {
    of_files: HashMap<FileId, Vec<Entry>>,
    /// What is wrong with it.
    wrong: Option<HostError>,
}

/// What tells one finding from another of those that one entry stands for.
type Spot = (Span, Level);

/// A finding as the file of accepted findings would name it, once, and as a file of the first version did.
struct Own {
    entry: Entry,
    numbers: String,
}

impl Archive {
    /// The file of accepted findings.
    pub(crate) fn accepted_file() -> FileId {
        FileId::new(ACCEPTED)
    }

    fn ledger(&self) -> &Ledger {
        self.inner.accepted.get_or_init(|| Arc::new(self.read_ledger()))
    }

    fn read_ledger(&self) -> Ledger {
        let file = Self::accepted_file();
        let text = match self.file(&file).text() {
            Ok(text) => text.clone(),
            Err(error) if error.source.kind() == io::ErrorKind::NotFound => return Ledger::default(),
            Err(error) => return Ledger { wrong: Some(error.clone()), ..Ledger::default() },
        };
        match Accepted::read(text.as_str().trim_start_matches('\u{feff}')) {
            Ok(accepted) => {
                let mut of_files: HashMap<FileId, Vec<Entry>> = HashMap::new();
                for entry in accepted.entries {
                    of_files.entry(entry.path.clone()).or_default().push(entry);
                }
                Ledger { of_files, wrong: None }
            }
            Err(wrong) => {
                let wrong = io::Error::new(io::ErrorKind::InvalidData, wrong);
                Ledger { wrong: Some(HostError::new(&self.path_of(&file), wrong)), ..Ledger::default() }
            }
        }
    }

    /// Marks the findings of one file's check that were accepted.
    pub(in crate::archive) fn accept(&self, findings: &mut [Finding]) {
        let ledger = self.ledger();
        if ledger.of_files.is_empty() {
            return;
        }
        let of_ledger = |finding: &Finding| ledger.of_files.contains_key(&finding.place.file);
        let named: Vec<Option<Own>> = findings
            .iter()
            .map(|finding| if of_ledger(finding) && can_be_accepted(finding) { self.own(finding) } else { None })
            .collect();
        // A file's own order, so that the same ones are covered each time.
        let mut used: HashMap<(FileId, usize), usize> = HashMap::new();
        for (finding, own) in findings.iter_mut().zip(&named) {
            let Some(own) = own else { continue };
            let Some(entries) = ledger.of_files.get(&finding.place.file) else { continue };
            let covers = |(number, entry): &(usize, &Entry)| {
                let left = entry.count - used.get(&(finding.place.file.clone(), *number)).copied().unwrap_or(0);
                left > 0 && is_same(entry, own) && entry.level >= own.entry.level && is_certain(entry, &named)
            };
            let covering = entries.iter().enumerate().filter(covers).min_by_key(|(_, entry)| entry.level);
            if let Some((number, _)) = covering {
                *used.entry((finding.place.file.clone(), number)).or_default() += 1;
                finding.accepted = true;
            }
        }
    }

    /// What a report of some files says of the file of accepted findings: what keeps it from being read, and the entries
    /// of which there is less than was accepted, with how much less. `of_all` tells that all files of the archive
    /// were checked.
    pub(in crate::archive) fn reconcile(&self, report: &mut Report, of_all: bool) {
        let ledger = self.ledger();
        if let Some(wrong) = &ledger.wrong {
            report.refuse(Self::accepted_file(), wrong.clone());
        }
        if ledger.of_files.is_empty() {
            return;
        }
        let checked: BTreeSet<&FileId> = report.files.iter().map(|(file, _)| file).collect();
        let found = self.entries(report, |finding| finding.accepted);
        let open = self.entries(report, |finding| !finding.accepted);
        // What stands in kit may be found with a plan that was not checked.
        let is_known = |file: &FileId| of_all || (checked.contains(file) && self.plan(file).is_some());
        let known = ledger.of_files.iter().filter(|(file, _)| is_known(file));
        let (mut gone, mut unclear): (Vec<Entry>, Vec<Entry>) = Default::default();
        for entry in known.flat_map(|(_, entries)| entries) {
            let fits = |own: &&Own| is_same(entry, own);
            let there: usize = found.iter().filter(fits).map(|found| found.entry.count).sum();
            if there < entry.count {
                // What an old entry stands for can't be told where more fit it than it counts.
                let is_unclear =
                    entry.data.is_none() && open.iter().any(|own| fits(&own) && own.entry.level <= entry.level);
                let list = if is_unclear { &mut unclear } else { &mut gone };
                list.push(Entry { count: entry.count - there, ..entry.clone() });
            }
        }
        gone.sort();
        unclear.sort();
        (report.gone, report.unclear) = (gone, unclear);
    }

    /// What the file of accepted findings would hold, were all that a report finds accepted that can be: what it holds
    /// of files that were not checked is kept. `of_all` tells that all files of the archive were checked.
    pub(crate) fn accepting(&self, report: &Report, of_all: bool) -> Accepted {
        let checked: BTreeSet<&FileId> = report.files.iter().map(|(file, _)| file).collect();
        let mut entries = self.entries(report, |_| true);
        let mut kept: Vec<Entry> = Vec::new();
        let unchecked = self.ledger().of_files.iter().filter(|(file, _)| !of_all && !checked.contains(file));
        for old in unchecked.flat_map(|(_, entries)| entries) {
            match entries.iter_mut().find(|new| is_same(old, new) && old.level == new.entry.level) {
                Some(new) => new.entry.count = new.entry.count.max(old.count),
                None => kept.push(old.clone()),
            }
        }
        kept.extend(entries.into_iter().map(|own| own.entry));
        kept.sort();
        Accepted { entries: kept }
    }

    /// What a report finds and could be accepted, counted by node; what several checks found alike counts once.
    fn entries(&self, report: &Report, which: impl Fn(&Finding) -> bool) -> Vec<Own> {
        let mut counted: BTreeMap<(Entry, String), BTreeSet<Spot>> = BTreeMap::new();
        let findings = report.files.iter().flat_map(|(_, findings)| findings);
        for finding in findings.filter(|finding| can_be_accepted(finding) && which(finding)) {
            if let Some(Own { entry, numbers }) = self.own(finding) {
                counted.entry((entry, numbers)).or_default().insert((finding.place.span, finding.level));
            }
        }
        let own = |((entry, numbers), spots): ((Entry, String), BTreeSet<Spot>)| Own {
            entry: Entry { count: spots.len(), ..entry },
            numbers,
        };
        counted.into_iter().map(own).collect()
    }

    fn own(&self, finding: &Finding) -> Option<Own> {
        let Place { file, span } = &finding.place;
        let tree = self.tree(file)?;
        let around = tree.nodes().filter(|node| tree.span(*node).contains(*span)).max_by_key(|node| tree.depth(*node));
        let mut names: Vec<String> =
            std::iter::successors(around, |node| tree.parent(*node)).skip(1).map(|node| named(&tree, node)).collect();
        names.reverse();
        let entry = Entry {
            path: file.clone(),
            names,
            text: around.map(|node| own_text(&tree, node)).unwrap_or_default(),
            rule: finding.rule.clone(),
            data: Some(finding.data.clone()),
            numbers: None,
            level: finding.level,
            count: 1,
        };
        Some(Own { entry, numbers: Accepted::numbers(&finding.message) })
    }
}

/// Whether a finding is one that may be accepted: what can't be waived can't be.
fn can_be_accepted(finding: &Finding) -> bool {
    finding.waived.is_none() && !finding.stands && rules::find(&finding.rule).is_some_and(|rule| rule.waivable)
}

/// Whether an entry is of a finding, whatever their levels and counts.
fn is_same(one: &Entry, own: &Own) -> bool {
    let Entry { path, names, text, rule, data, numbers, level: _, count: _ } = one;
    let other = &own.entry;
    (path, names, text, rule) == (&other.path, &other.names, &other.text, &other.rule)
        && match (data, numbers) {
            (Some(_), _) => *data == other.data,
            (None, numbers) => numbers.as_ref() == Some(&own.numbers),
        }
}

/// Whether it is certain which of a check's findings an entry stands for: one of a file of the first version knows only
/// their numbers, which several may have.
fn is_certain(entry: &Entry, named: &[Option<Own>]) -> bool {
    let fitting = || named.iter().flatten().filter(|own| is_same(entry, own) && own.entry.level <= entry.level);
    entry.data.is_some() || fitting().map(|own| &own.entry.data).collect::<BTreeSet<_>>().len() <= entry.count
}

/// A node by its word and its name.
fn named(tree: &Tree, node: NodeId) -> String {
    let name = tree.entries(node).find(|entry| entry.key.is_none()).and_then(|entry| match entry.value {
        Value::Text(name) => Some(name),
        _ => None,
    });
    let word = tree.name(node).text;
    name.map_or_else(|| word.to_string(), |name| format!("{word} {name:?}"))
}

/// A node's word and entries as they are written, without its block.
fn own_text(tree: &Tree, node: NodeId) -> String {
    let mut text = tree.name(node).text.to_string();
    for entry in tree.entries(node) {
        text.push(' ');
        text.push_str(tree.text().get(entry.span.range()).unwrap_or_default());
    }
    text
}
