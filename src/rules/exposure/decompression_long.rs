//! `decompression-long`: the stops are longer than is allowed.

use super::decompression;
use crate::findings::Level;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "decompression-long",
    family: Family::Exposure,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("decompression_long.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    each_run(look, out, Whose::All, |look, simulated, out| {
        decompression::one(look, simulated, out, &RULE, decompression::Allowed::Some)
    });
}
