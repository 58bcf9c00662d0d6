//! The rules: each looks at a plan and says what is wrong, where, why, and what would mend it.
//!
//! One rule is one file, `src/rules/<family>/<slug>.rs`, with its page beside it, and a folder of small plans that
//! must and must not raise it under `tests/rules/<slug>/`. [`TABLE`] lists them all.

use crate::findings::{Finding, Level};
use crate::plan::{Plan, Scope, Status};
use crate::source::{FileId, Place, Span, Text};
use crate::syntax::Tree;
use crate::words::{FileKind, Slip};

/// A family of rules, one of the catalogue's chapters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Family {
    Language,
    Mix,
    Supply,
    Exposure,
    Unit,
    Team,
    Archive,
    Contingency,
}

/// Whether a rule's findings come with fixes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mends {
    /// Never.
    None,
    /// Where one follows from the text or fits the plan.
    Sometimes,
    /// Always.
    Always,
}

/// A rule as the table knows it.
#[derive(Debug)]
pub struct Rule {
    /// Its name, for ever.
    pub slug: &'static str,
    /// Its chapter.
    pub family: Family,
    /// Its level unless the house or the rule itself says another.
    pub level: Level,
    /// The version that brought it.
    pub since: &'static str,
    /// Whether its findings come with fixes.
    pub mends: Mends,
    /// Whether `allow` may waive it.
    pub waivable: bool,
    /// Whether lowering it needs a written reason.
    pub safety: bool,
    /// The statuses of a plan it looks at; empty for rules about text, which look at any file.
    pub statuses: &'static [Status],
    /// Its page, in Markdown.
    pub page: &'static str,
    /// What looks.
    pub look: fn(&Look<'_>, &mut Out<'_>),
}

/// Everything a rule may look at: one file, what it means, and what its names mean.
#[derive(Debug)]
pub struct Look<'a> {
    /// The file.
    pub file: &'a FileId,
    /// Its kind.
    pub kind: FileKind,
    /// Its text.
    pub text: &'a Text,
    /// Its tree.
    pub tree: &'a Tree,
    /// What doesn't fit the vocabulary.
    pub slips: &'a [Slip],
    /// What can't be resolved: names, uses, templates.
    pub links: &'a [LinkFault],
    /// The plan, if the file holds one.
    pub plan: Option<&'a Plan>,
    /// What names mean here.
    pub scope: &'a Scope,
}

/// Something that the archive could not resolve. A rule of the Language family turns it into a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct LinkFault {
    /// Which rule raises it.
    pub kind: LinkKind,
    /// Where.
    pub place: Place,
    /// What is wrong.
    pub message: String,
    /// Other places that take part.
    pub related: Vec<(Place, String)>,
    /// What could stand there instead, likeliest first, as text to write.
    pub instead: Vec<String>,
}

/// The kinds of link fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LinkKind {
    /// A name that nothing in sight defines.
    UnresolvedName,
    /// A definition in a plan that nothing uses.
    UnusedDefinition,
    /// Files that use each other in a ring, or templates that do.
    UseCycle,
    /// A path out of the root, or to nothing.
    UseOutside,
    /// Two files in sight define one name.
    DuplicateName,
}

/// Where a rule puts what it says.
#[derive(Debug)]
pub struct Out<'a> {
    rule: &'a Rule,
    findings: Vec<Finding>,
    lacking: Vec<Lacking>,
}

/// A fact that a rule needs and doesn't find.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Lacking {
    /// The rule.
    pub rule: &'static str,
    /// Where the fact would stand, or what lacks it.
    pub place: Place,
    /// The fact, as a writer would add it: `` `needs o2=` of unit "fen-3" ``.
    pub fact: String,
}

impl Rule {
    /// A finding of this rule at its own level.
    pub fn finding(&self, place: Place, message: impl Into<String>) -> Finding {
        Finding::new(self.slug, self.level, place, message)
    }
}

impl Look<'_> {
    /// A place in the file looked at.
    pub fn here(&self, span: Span) -> Place {
        Place::new(self.file.clone(), span)
    }
}

impl Out<'_> {
    /// Says a finding.
    pub fn find(&mut self, finding: Finding) {
        debug_assert_eq!(finding.rule, self.rule.slug);
        self.findings.push(finding);
    }

    /// Says that a fact is missing, so that this rule could not look.
    pub fn lacks(&mut self, place: Place, fact: impl Into<String>) {
        let _ = self.lacking.iter();
        let lacking = Lacking { rule: "", place, fact: fact.into() };
        self.lacking.push(lacking);
    }
}

/// Every rule, in the catalogue's order.
pub const TABLE: &[Rule] = &[];
