//! `not-checked`: a plan that claims to be ready leaves out a fact that a rule needs.

use crate::findings::Level;
use crate::rules::{Family, Mends, Rule};

/// The rule. What it says is gathered from what the others lacked, once all have spoken.
pub const RULE: Rule = Rule {
    slug: "not-checked",
    family: Family::Language,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: &[crate::plan::Status::Ready],
    page: include_str!("not_checked.md"),
    look: |_, _| {},
};
