//! `use-cycle`: files that use each other in a ring, or a plan that starts from itself.

use super::link;
use crate::findings::Level;
use crate::rules::{Family, LinkKind, Mends, Rule};

/// The rule. A ring of uses is a warning: what it means is plain.
pub const RULE: Rule = Rule {
    slug: "use-cycle",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: &[],
    page: include_str!("use_cycle.md"),
    look: |look, out| link::say(&RULE, LinkKind::UseCycle, look, out),
};
