//! What a check of files says.

use std::cell::OnceCell;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rayon::prelude::*;

use super::{Archive, HostError, LeftOut};
use crate::findings::{Entry, Finding, Level, Wording, said};
use crate::rules::{self, Context, Dives, Fact, Fixes, Settled, Trees};
use crate::source::FileId;
use crate::source::{Place, Span};
use crate::syntax::Tree;
use crate::words::{FileKind, check};

/// Bytes of text that are looked at before what is kept of days long gone is let go of.
const AT_A_TIME: usize = 1024 * 1024;

/// What a check of some files says.
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// The files looked at, in path order, each with its findings in document order.
    pub files: Vec<(FileId, Vec<Finding>)>,
    /// Files that could not be read, in path order, and why.
    pub unread: Vec<(FileId, HostError)>,
    /// How many rules looked at something.
    pub rules_looked: usize,
    /// The facts that rules lacked, file by file in path order, in a file as they stand.
    pub lacking: Vec<Fact>,
    /// How many dives were simulated, of those that are still to be dived.
    pub dives: Dives,
    /// Plans, kit and house files that were left out, in path order, and why.
    pub left_out: Vec<(FileId, LeftOut)>,
    /// Safety rules that a root file has lowered, each with its reason.
    pub lowered: Vec<String>,
    /// Accepted findings that are no longer found, with how many of each.
    pub gone: Vec<Entry>,
    /// Accepted findings of a file of the first version that fit more findings than they count: none of them is taken for
    /// accepted.
    pub unclear: Vec<Entry>,
    /// The files whose texts have more errors than were looked for.
    pub uncounted: BTreeSet<FileId>,
    /// Findings that were not asked for, by their rules.
    pub unselected: BTreeMap<String, usize>,
}

/// So many findings of one file are listed: nobody reads more, and mending the first ones often ends the others.
const MOST_FINDINGS: usize = 1_000;

/// Leaves of a file's findings those that are gravest, in their order, and says how many more there are. What was accepted
/// before counts for nothing.
fn shorten(file: &FileId, findings: &mut Vec<Finding>, uncounted: bool) {
    let told = findings.iter().filter(|finding| !finding.accepted).count();
    if told <= MOST_FINDINGS && !uncounted {
        return;
    }
    let mut ranks: Vec<(Reverse<Level>, usize)> =
        findings.iter().enumerate().filter(|(_, it)| !it.accepted).map(|(at, it)| (Reverse(it.level), at)).collect();
    ranks.sort_unstable();
    let left: BTreeSet<usize> = ranks.iter().skip(MOST_FINDINGS).map(|(_, at)| *at).collect();
    let first = left.first().or(ranks.last().map(|(_, at)| at)).and_then(|at| findings.get(*at));
    let Some(first) = first else { return };
    let level = left.iter().filter_map(|at| findings.get(*at)).map(|finding| finding.level).max();
    let message = match (left.len(), uncounted) {
        (0, _) => said!("there are more findings in this file than are listed: mend the first ones first"),
        (1, false) => said!("1 more finding in this file is not listed"),
        (more, false) => said!("{more} more findings in this file are not listed", more),
        (more, true) => {
            said!("more than {more} further findings in this file are not listed: mend the first ones first", more)
        }
    };
    let rule = first.rule.clone();
    let told = Finding::new(&rule, level.unwrap_or(Level::Error), Place::new(file.clone(), first.place.span), message);
    let mut at = 0;
    findings.retain(|_| {
        at += 1;
        !left.contains(&(at - 1))
    });
    findings.push(told);
}

/// A file or folder of the archive that is not read, and why.
fn refused(file: &FileId, error: &HostError) -> Finding {
    let message =
        said!("{file} is not read: {words}", words = Wording(&error.why()), file).with("why", error.source.to_string());
    Finding::new("use-outside", Level::Error, Place::new(file.clone(), Span::at(0)), message)
}

impl Report {
    /// The same without the findings that are not asked for, which are counted.
    #[must_use]
    pub(crate) fn selected(mut self, is_asked_for: &dyn Fn(&Finding) -> bool) -> Report {
        for (_, findings) in &mut self.files {
            findings.retain(|finding| {
                let stays = is_asked_for(finding);
                if !stays && finding.counts() {
                    *self.unselected.entry(finding.rule.clone()).or_default() += 1;
                }
                stays
            });
        }
        self
    }

    /// The same with as many findings of each file as anybody would read.
    #[must_use]
    pub(crate) fn shortened(mut self) -> Report {
        for (file, findings) in &mut self.files {
            shorten(file, findings, self.uncounted.contains(file));
        }
        self
    }

    /// Whether a file was looked at, or could not be.
    pub fn has(&self, file: &FileId) -> bool {
        self.files.binary_search_by(|(other, _)| other.cmp(file)).is_ok()
            || self.unread.iter().any(|(other, _)| other == file)
    }

    /// Takes in what is not read, as a finding of its own.
    pub(crate) fn refuse(&mut self, file: FileId, error: HostError) {
        let mut finding = refused(&file, &error);
        // What is left out on purpose leaves nothing of the archive unlooked at.
        let on_purpose = error.source.kind() == std::io::ErrorKind::Unsupported;
        if on_purpose {
            finding.level = Level::Warning;
        }
        let at = self.files.partition_point(|(other, _)| *other < file);
        self.files.insert(at, (file.clone(), vec![finding]));
        if !on_purpose {
            self.unread.push((file, error));
        }
    }
}

impl Trees for Archive {
    fn tree(&self, file: &FileId) -> Option<Tree> {
        Archive::tree(self, file)
    }
}

impl Archive {
    /// The findings of one file, waivers, house levels and what was accepted applied, in document order; none of a file
    /// that can't be read, which [`Archive::text`] tells.
    pub fn findings(&self, file: &FileId) -> Vec<Finding> {
        self.found(file, Fixes::Searched)
    }

    /// The same without the fixes for which dives would have to be tried: for whoever shows findings, and no fix before
    /// somebody asks for one.
    pub fn findings_at_hand(&self, file: &FileId) -> Vec<Finding> {
        self.found(file, Fixes::AtHand)
    }

    fn found(&self, file: &FileId, fixes: Fixes) -> Vec<Finding> {
        let settled = self.settled(file, fixes).unwrap_or_default();
        let mut findings = settled.findings;
        self.accept(&mut findings);
        shorten(file, &mut findings, settled.uncounted);
        findings
    }

    /// Checks files in parallel; the answer doesn't depend on how many threads there are. `progress` is called
    /// after each file.
    pub fn check(&self, files: &[FileId], progress: &(dyn Fn() + Sync)) -> Report {
        self.checked(files, Fixes::Searched, progress).shortened()
    }

    /// The same without the fixes for which dives would have to be tried: for whoever shows findings and no fixes.
    pub fn check_at_hand(&self, files: &[FileId], progress: &(dyn Fn() + Sync)) -> Report {
        self.checked(files, Fixes::AtHand, progress).shortened()
    }

    /// The same with every finding, however many a file has.
    pub(crate) fn check_whole(&self, files: &[FileId], fixes: Fixes, progress: &(dyn Fn() + Sync)) -> Report {
        self.checked(files, fixes, progress)
    }

    fn checked(&self, files: &[FileId], fixes: Fixes, progress: &(dyn Fn() + Sync)) -> Report {
        let files: BTreeSet<&FileId> = files.iter().collect();
        let files: Vec<&FileId> = files.into_iter().collect();
        // Asked for by every plan, so made before any of them asks.
        self.index();
        let (settled, looked) = self.settled_by_days(&files, fixes, progress);
        let mut report = Report::default();
        let mut lowered = BTreeSet::new();
        for (file, settled) in files.into_iter().zip(settled) {
            match settled {
                Ok(mut settled) => {
                    self.accept(&mut settled.findings);
                    report.files.push((file.clone(), settled.findings));
                    report.lacking.extend(settled.lacking);
                    report.dives.planned += settled.dives.planned;
                    report.dives.simulated += settled.dives.simulated;
                    lowered.extend(settled.lowered);
                    report.uncounted.extend(settled.uncounted.then(|| file.clone()));
                }
                Err(error) => report.refuse(file.clone(), error),
            }
        }
        report.rules_looked = looked.len();
        report.lowered = lowered.into_iter().collect();
        let of_all = self.walk(&[]).iter().all(|file| report.has(file));
        if of_all {
            self.tell_idle_waivers(&mut report);
        }
        self.reconcile(&mut report, of_all);
        report
    }

    /// What is found in files, in their order, and the rules that looked at anything in any of them. The files are looked at
    /// in the order of their plans' days, some at a time, so that nothing is kept of days long gone and memory grows with the
    /// texts alone.
    fn settled_by_days(
        &self,
        files: &[&FileId],
        fixes: Fixes,
        progress: &(dyn Fn() + Sync),
    ) -> (Vec<Result<Settled, HostError>>, BTreeSet<&'static str>) {
        let day = |file: &FileId| self.file(file).summary().day;
        let mut order: Vec<(Option<Date>, usize)> =
            files.iter().enumerate().map(|(number, file)| (day(file), number)).collect();
        order.sort_unstable();
        let kit: Vec<FileId> = self.walk(&[]).into_iter().filter(|file| self.kind(file) != FileKind::Plan).collect();
        let mut settled: Vec<Option<Result<Settled, HostError>>> = files.iter().map(|_| None).collect();
        let mut looked: BTreeSet<&'static str> = BTreeSet::new();
        let mut kept: Vec<(Option<Date>, &FileId)> = Vec::new();
        let size = |number: usize| files.get(number).map_or(0, |file| self.file(file).size());
        let mut ahead = &order[..];
        while !ahead.is_empty() {
            let mut bytes = 0;
            let fits = |(_, number): &&(Option<Date>, usize)| {
                bytes += size(*number);
                bytes <= AT_A_TIME
            };
            // One that is larger alone is looked at all the same.
            let (chunk, rest) = ahead.split_at(ahead.iter().take_while(fits).count().max(1));
            ahead = rest;
            let look = |(_, number): &(Option<Date>, usize)| {
                let file = files.get(*number)?;
                let found = self.settled(file, fixes);
                progress();
                Some((*number, found))
            };
            let found: Vec<_> = chunk.par_iter().filter_map(look).collect();
            for (number, mut found) in found {
                // Of thousands of plans the same is not kept a thousand times, nor room for what was not found.
                if let Ok(found) = &mut found {
                    looked.extend(std::mem::take(&mut found.looked));
                    found.findings.shrink_to_fit();
                    found.lacking.shrink_to_fit();
                }
                if let Some(place) = settled.get_mut(number) {
                    *place = Some(found);
                }
            }
            kept.extend(chunk.iter().filter_map(|(day, number)| Some((*day, *files.get(*number)?))));
            let next = ahead.first().and_then(|(day, _)| *day).map(|day| self.first_that_counts(day));
            kept.retain(|(day, file)| {
                let gone = day.zip(next).is_none_or(|(day, next)| day < next);
                if gone {
                    self.forget(file);
                }
                !gone
            });
            // Of kit what the next days need is read again: a club's records grow as its plans do.
            kit.iter().for_each(|file| self.file(file).forget());
        }
        (settled.into_iter().flatten().collect(), looked)
    }

    fn settled(&self, id: &FileId, fixes: Fixes) -> Result<Settled, HostError> {
        if let Some(settled) = self.inner.cache.as_ref().and_then(|cache| cache.settled(self, id, fixes)) {
            return Ok(settled);
        }
        let file = self.file(id);
        let text = file.text().as_ref().map_err(Clone::clone)?;
        let Some(word) = file.word() else { return Ok(Settled::default()) };
        let resolved = self.resolved(id);
        let links = self.links(&file, &resolved);
        let earlier = self.earlier(id);
        let beside = self.beside(id);
        let practised = self.practice(id);
        let look = Context {
            rules: &rules::infos(),
            find: rules::info,
            file: id,
            kind: file.kind(),
            text,
            tree: &word.source.tree,
            trees: self,
            errors: &check(&word.source.tree, file.kind()),
            links: &links,
            waivers: &word.waivers,
            plan: resolved.plan.as_deref(),
            scope: &resolved.scope,
            runs: &self.inner.runs,
            earlier: &earlier,
            beside: &beside,
            practised: &practised,
            day: OnceCell::new(),
            timeline: OnceCell::new(),
            fixes,
        };
        let settled = rules::apply_policy(&look, rules::look(&look));
        if let Some(cache) = &self.inner.cache {
            cache.remember(self, id, &links, &settled, fixes);
        }
        Ok(settled)
    }
}
