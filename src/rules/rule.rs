//! A rule as the table knows it.

use super::{Context, Sink};
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
    Archive,
    Contingency,
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

/// A rule as the table knows it: `Rule::new` has what every rule says, the methods after it what is special of some.
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
    /// What looks.
    pub(crate) look: fn(&Context<'_>, &mut Sink<'_>),
}

/// The version that brought the first rules.
const FIRST_VERSION: &str = "0.1.0";

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

impl Rule {
    /// A stable rule of the first version, without fixes, that anybody may lower or waive, for plans that are still to be
    /// dived. `page` is its page in Markdown, `look` what looks.
    pub(crate) const fn new(
        slug: &'static str,
        family: Family,
        level: Level,
        page: &'static str,
        look: fn(&Context<'_>, &mut Sink<'_>),
    ) -> Rule {
        Rule {
            slug,
            family,
            level,
            since: FIRST_VERSION,
            status: RuleStatus::Stable,
            fixes: FixAvailability::None,
            waivable: true,
            safety: false,
            statuses: TO_DIVE,
            page,
            look,
        }
    }

    /// The rule with findings that come with fixes.
    pub(crate) const fn fixes(self, fixes: FixAvailability) -> Rule {
        Rule { fixes, ..self }
    }

    /// The rule as one that the house lowers only with a written reason.
    pub(crate) const fn safety(self) -> Rule {
        Rule { safety: true, ..self }
    }

    /// The rule as one that nothing waives or lowers.
    pub(crate) const fn never_waived(self) -> Rule {
        Rule { waivable: false, ..self }
    }

    /// The rule for plans of some statuses; [`ANY_FILE`] for any file.
    pub(crate) const fn at(self, statuses: &'static [Status]) -> Rule {
        Rule { statuses, ..self }
    }
}

impl Rule {
    /// A finding of this rule at its own level.
    pub(crate) fn finding(&self, place: Place, said: Said) -> Finding {
        Finding::new(self.slug, self.level, place, said)
    }

    /// Whether the rule looks at a file at all: rules about text look at any, the others at plans of their statuses.
    pub(crate) fn looks_at(&self, plan: Option<&Plan>) -> bool {
        self.statuses.is_empty() || plan.is_some_and(|plan| self.statuses.contains(&plan.status))
    }
}

/// Statuses of plans that are still to be dived, templates among them.
const TO_DIVE: &[Status] = &[Status::Template, Status::Draft, Status::Ready];

/// No plan's statuses: for rules about text, which look at any file.
pub(crate) const ANY_FILE: &[Status] = &[];

/// Plans that claim to be ready: for duties that only the day itself can fulfil.
pub(crate) const READY: &[Status] = &[Status::Ready];

/// The rule of a slug in a table; a slug that was renamed finds the rule's new name.
pub(super) fn named(table: &'static [Rule], slug: &str) -> Option<&'static Rule> {
    let slug = RENAMED.iter().find(|(old, _)| *old == slug).map_or(slug, |(_, new)| new);
    table.iter().find(|rule| rule.slug == slug)
}

/// Old slugs and the ones that took their place; a line here stays for ever.
const RENAMED: &[(&str, &str)] = &[];
