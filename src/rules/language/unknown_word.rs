//! `unknown-word`: a word that the plan language doesn't hold.

use super::slip;
use crate::findings::Level;
use crate::rules::{Family, Mends, Rule};
use crate::words::SlipKind;

/// The rule. The vocabulary's walker finds it; here it is said. What it speaks of is left unread by every other rule,
/// so lowering it needs a reason.
pub const RULE: Rule = Rule {
    slug: "unknown-word",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: &[],
    page: include_str!("unknown_word.md"),
    look: |look, out| slip::say(&RULE, SlipKind::UnknownWord, look, out),
};
