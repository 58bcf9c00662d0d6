//! `descent-fast`: a leg goes down too fast.

use super::rates;
use crate::findings::Level;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "descent-fast",
    family: Family::Exposure,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("descent_fast.md"),
    look,
};

/// Faster than this is too fast, metres a minute (common practice, no source).
pub const FASTEST: f64 = 20.0;

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    rates::too_fast(look, out, &RULE, rates::Way::Down, FASTEST);
}
