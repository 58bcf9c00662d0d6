//! `stop-missing`: a leg goes above the ceiling, and no stop is written.

use super::ceiling;
use crate::findings::Level;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "stop-missing",
    family: Family::Exposure,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("stop_missing.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    each_run(look, out, Whose::All, |look, simulated, out| {
        ceiling::one(look, simulated, out, &RULE, ceiling::Said::NoStop)
    });
}
