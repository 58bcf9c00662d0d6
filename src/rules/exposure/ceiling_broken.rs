//! `ceiling-broken`: a leg goes above the ceiling in spite of the stops that are written.

use super::ceiling;
use crate::findings::Level;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "ceiling-broken",
    family: Family::Exposure,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("ceiling_broken.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    each_run(look, out, Whose::All, |look, simulated, out| {
        ceiling::one(look, simulated, out, &RULE, ceiling::Said::StopTooShort)
    });
}
