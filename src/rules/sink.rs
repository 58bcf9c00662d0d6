//! Where a rule says what it found, and what it lacks.

use serde::{Deserialize, Serialize};

use crate::findings::{Finding, Level};
use crate::forecast::Missing;
use crate::source::Place;

/// Where a rule puts what it says.
#[derive(Debug)]
pub(crate) struct Sink<'a> {
    rule: &'static str,
    looked: &'a mut Looked,
}

/// A fact that a rule needs and doesn't find.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Lacking {
    /// Where the fact would stand, or what lacks it.
    pub place: Place,
    /// The fact, as a writer would add it: `` `needs o2=` of unit "fen-3" ``.
    pub fact: String,
    /// The rule that could not look.
    pub rule: &'static str,
}

/// A fact that is missing, with all rules that could not look for want of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// Where it would stand, or what lacks it.
    pub place: Place,
    /// The fact, as a writer would add it.
    pub fact: String,
    /// The rules that wait for it, in the table's order.
    pub rules: Vec<&'static str>,
}

/// How many dives of a plan were simulated, each diver's counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Dives {
    /// Those that the plan asks for; none of a template's, and none that were dived already.
    pub planned: usize,
    /// Those of them that could be run.
    pub simulated: usize,
}

/// What all rules said of one file, before waivers and the house's levels.
#[derive(Debug, Default)]
pub(crate) struct Looked {
    /// What they found, in the table's order.
    pub findings: Vec<Finding>,
    /// What they could not look at.
    pub lacking: Vec<Lacking>,
    /// The rules that looked.
    pub rules: Vec<&'static str>,
}

impl<'a> Sink<'a> {
    /// Where the rule of a slug says what it finds; it comes into `looked`.
    pub(super) fn new(rule: &'static str, looked: &'a mut Looked) -> Sink<'a> {
        Sink { rule, looked }
    }

    /// Says a finding.
    pub(crate) fn find(&mut self, finding: Finding) {
        debug_assert_eq!(finding.rule, self.rule);
        self.looked.findings.push(finding);
    }

    /// Says that facts are missing, so that this rule could not look at something.
    pub(crate) fn lacks_all(&mut self, missing: impl IntoIterator<Item = Missing>) {
        for Missing { place, fact } in missing {
            self.lacks(place, fact);
        }
    }

    /// Whether anything above a note was said so far.
    pub(crate) fn has_told_of_a_defect(&self) -> bool {
        self.looked.findings.iter().any(|finding| finding.level > Level::Note)
    }

    /// Whether an error was said so far of something that stands within a place.
    pub(crate) fn has_told_within(&self, place: &Place) -> bool {
        let within = |other: &Place| other.file == place.file && place.span.contains(other.span);
        self.looked.findings.iter().any(|finding| finding.level == Level::Error && within(&finding.place))
    }

    /// How many findings were said so far.
    pub(crate) fn found(&self) -> usize {
        self.looked.findings.len()
    }

    /// Says that a fact is missing, so that this rule could not look at something.
    pub(crate) fn lacks(&mut self, place: Place, fact: impl Into<String>) {
        self.looked.lacking.push(Lacking { place, fact: fact.into(), rule: self.rule });
    }
}
