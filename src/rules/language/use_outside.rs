//! `use-outside`: a path out of the archive's root, or to nothing that is read.

use super::link;
use crate::findings::Level;
use crate::rules::{Family, LinkKind, Mends, Rule};

/// The rule. Nothing is read to find it out: the path alone tells, or the system.
pub const RULE: Rule = Rule {
    slug: "use-outside",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: false,
    statuses: &[],
    page: include_str!("use_outside.md"),
    look: |look, out| link::say(&RULE, LinkKind::UseOutside, look, out),
};
