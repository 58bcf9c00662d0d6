//! One fact that many plans meet is one finding.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Deref;

use crate::findings::{Data, Finding, Level, Related};
use crate::source::{FileId, Place};

/// A finding as the pages tell it.
#[derive(Debug, Clone)]
pub enum OnPage<'f> {
    /// As a check found it.
    AsFound(&'f Finding),
    /// One for several of one fact.
    Merged(Box<Finding>),
}

impl Deref for OnPage<'_> {
    type Target = Finding;

    fn deref(&self) -> &Finding {
        match self {
            OnPage::AsFound(finding) => finding,
            OnPage::Merged(finding) => finding,
        }
    }
}

/// What is the same of findings of one fact: all but the plan, and the days that they speak of.
type Fact<'f> = (&'f Place, &'f str, Level, bool, Option<&'f str>, Data);

/// The findings of several files' checks, with those that several plans have of one fact elsewhere as one at that fact,
/// related to each place where it is met.
pub(super) fn merged<'f>(findings: impl Iterator<Item = &'f Finding>) -> Vec<OnPage<'f>> {
    let mut merged: Vec<OnPage<'f>> = Vec::new();
    let mut facts: BTreeMap<Fact<'f>, Vec<&'f Finding>> = BTreeMap::new();
    for finding in findings {
        match &finding.cause {
            Some(cause) => {
                let because = finding.waived.as_ref().map(|waived| &*waived.because);
                let data = finding.data.without_days();
                let fact = (cause, &*finding.rule, finding.level, finding.accepted, because, data);
                facts.entry(fact).or_default().push(finding);
            }
            None => merged.push(OnPage::AsFound(finding)),
        }
    }
    for ((cause, ..), met) in facts {
        let files: BTreeSet<&FileId> = met.iter().map(|finding| &finding.place.file).collect();
        match &met[..] {
            [first, ..] if files.len() > 1 => merged.push(OnPage::Merged(Box::new(at(cause, first, &met, &files)))),
            met => merged.extend(met.iter().copied().map(OnPage::AsFound)),
        }
    }
    merged
}

fn at(cause: &Place, first: &Finding, met: &[&Finding], files: &BTreeSet<&FileId>) -> Finding {
    let mut finding = first.clone();
    finding.message += &match files.len() {
        2 => "; 1 more file meets it".to_owned(),
        files => format!("; {} more files meet it", files - 1),
    };
    finding.place = cause.clone();
    finding.cause = None;
    // What the first has of its own tells nothing of the others.
    finding.related.retain(|related| related.place != *cause && !files.contains(&related.place.file));
    let mut places: Vec<&Place> = met.iter().map(|finding| &finding.place).collect();
    places.sort();
    places.dedup();
    finding
        .related
        .extend(places.iter().map(|place| Related { place: (*place).clone(), message: "taken here".to_owned() }));
    // What mends one plan is no mend for another.
    finding.fixes.clear();
    finding
}
