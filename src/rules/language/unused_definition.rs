//! `unused-definition`: a definition in a plan that nothing in the plan uses.

use super::link;
use crate::findings::Level;
use crate::rules::{Family, LinkKind, Mends, Rule};

/// The rule. There is no fix: a definition holds measured and dated facts, which no fix takes away.
pub const RULE: Rule = Rule {
    slug: "unused-definition",
    family: Family::Language,
    level: Level::Note,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: &[],
    page: include_str!("unused_definition.md"),
    look: |look, out| link::say(&RULE, LinkKind::UnusedDefinition, look, out),
};
