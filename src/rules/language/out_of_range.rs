//! `out-of-range`: a value that can't be meant.

use super::slip;
use crate::findings::Level;
use crate::rules::{Family, Mends, Rule};
use crate::words::SlipKind;

/// The rule. The vocabulary's walker finds it; here it is said. What it speaks of is left unread by every other rule,
/// so lowering it needs a reason.
pub const RULE: Rule = Rule {
    slug: "out-of-range",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: &[],
    page: include_str!("out_of_range.md"),
    look: |look, out| slip::say(&RULE, SlipKind::OutOfRange, look, out),
};
