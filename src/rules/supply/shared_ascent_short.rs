//! `shared-ascent-short`: a buddy who breathes from the diver's way out leaves both without gas.

use crate::findings::Level;
use crate::rules::contingency::contingency_uncovered;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};
use crate::run::Trouble;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "shared-ascent-short",
    family: Family::Supply,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("shared_ascent_short.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    each_run(look, out, Whose::All, |_, simulated, out| {
        contingency_uncovered::each(simulated, out, &RULE, |trouble| trouble == Trouble::BuddyOnGas);
    });
}
