//! What is known of a rule, whatever it looks at.

use crate::findings::{Finding, Level, Said};
use crate::plan::{Plan, Status};
use crate::source::Place;

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
    Contingency,
}

impl Family {
    /// Its name, as `--select` takes it.
    pub const fn word(self) -> &'static str {
        match self {
            Family::Language => "language",
            Family::Mix => "mix",
            Family::Supply => "supply",
            Family::Exposure => "exposure",
            Family::Unit => "unit",
            Family::Team => "team",
            Family::Contingency => "contingency",
        }
    }
}

/// Whether a rule's findings come with fixes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FixAvailability {
    /// Never.
    None,
    /// Where one follows from the text or fits the plan.
    Sometimes,
    /// Always.
    Always,
}

/// How far a rule may be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleStatus {
    /// New: its level, its message and what it looks at may still change.
    Preview,
    /// What it says changes only with a word in the list of changes.
    Stable,
    /// Kept so that waivers and levels that name it still mean something; it will go.
    Deprecated,
}

/// What is known of a rule.
#[derive(Debug)]
pub struct RuleInfo {
    /// Its name, for ever.
    pub slug: &'static str,
    /// Its chapter.
    pub family: Family,
    /// Its level unless the house or the rule itself says another.
    pub level: Level,
    /// The version that brought it.
    pub since: &'static str,
    /// How far it may be relied on.
    pub status: RuleStatus,
    /// Whether its findings come with fixes.
    pub fixes: FixAvailability,
    /// Whether `allow` may waive it.
    pub waivable: bool,
    /// Whether lowering it needs a written reason.
    pub safety: bool,
    /// The statuses of a plan it looks at; empty for rules about text, which look at any file.
    pub statuses: &'static [Status],
    /// Its page, in Markdown.
    pub page: &'static str,
}

impl RuleStatus {
    /// The word that pages print.
    pub const fn word(self) -> &'static str {
        match self {
            RuleStatus::Preview => "preview",
            RuleStatus::Stable => "stable",
            RuleStatus::Deprecated => "deprecated",
        }
    }
}

impl RuleInfo {
    /// A finding of this rule at its own level.
    pub(crate) fn finding(&self, place: Place, said: Said) -> Finding {
        Finding::new(self.slug, self.level, place, said)
    }

    /// Whether the rule looks at a file at all: rules about text look at any, the others at plans of their statuses.
    pub(crate) fn looks_at(&self, plan: Option<&Plan>) -> bool {
        self.statuses.is_empty() || plan.is_some_and(|plan| self.statuses.contains(&plan.status))
    }
}
