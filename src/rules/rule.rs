//! A rule as the table knows it.

use super::{Context, Family, FixAvailability, RuleInfo, RuleStatus, Sink};
use crate::findings::Level;
use crate::plan::Status;

/// A rule as the table knows it: `Rule::new` has what every rule says, the methods after it what is special of some.
#[derive(Debug)]
pub struct Rule {
    /// What is known of it.
    pub(crate) info: RuleInfo,
    /// What looks.
    pub(crate) look: fn(&Context<'_>, &mut Sink<'_>),
}

impl std::ops::Deref for Rule {
    type Target = RuleInfo;

    fn deref(&self) -> &RuleInfo {
        &self.info
    }
}

/// The version that brought the first rules.
const FIRST_VERSION: &str = "0.1.0";

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
        let info = RuleInfo {
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
        };
        Rule { info, look }
    }

    /// The rule with findings that come with fixes.
    pub(crate) const fn fixes(self, fixes: FixAvailability) -> Rule {
        Rule { info: RuleInfo { fixes, ..self.info }, ..self }
    }

    /// The rule as one that the house lowers only with a written reason.
    pub(crate) const fn safety(self) -> Rule {
        Rule { info: RuleInfo { safety: true, ..self.info }, ..self }
    }

    /// The rule as one that nothing waives or lowers.
    pub(crate) const fn never_waived(self) -> Rule {
        Rule { info: RuleInfo { waivable: false, ..self.info }, ..self }
    }

    /// The rule for plans of some statuses; [`ANY_FILE`] for any file.
    pub(crate) const fn at(self, statuses: &'static [Status]) -> Rule {
        Rule { info: RuleInfo { statuses, ..self.info }, ..self }
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
