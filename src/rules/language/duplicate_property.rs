//! `duplicate-property`: one property said twice.

use super::slip;
use crate::findings::Level;
use crate::rules::{Family, Mends, Rule};
use crate::words::SlipKind;

/// The rule. The vocabulary's walker finds it; here it is said. What it speaks of is left unread by every other rule,
/// so lowering it needs a reason.
pub const RULE: Rule = Rule {
    slug: "duplicate-property",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: &[],
    page: include_str!("duplicate_property.md"),
    look: |look, out| slip::say(&RULE, SlipKind::DuplicateProperty, look, out),
};
