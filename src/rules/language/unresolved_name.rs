//! `unresolved-name`: a name that nothing in sight defines.

use super::link;
use crate::findings::Level;
use crate::rules::{Family, LinkKind, Mends, Rule};

/// The rule. The archive finds what can't be resolved; here it is said.
pub const RULE: Rule = Rule {
    slug: "unresolved-name",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: false,
    statuses: &[],
    page: include_str!("unresolved_name.md"),
    look: |look, out| link::say(&RULE, LinkKind::UnresolvedName, look, out),
};
