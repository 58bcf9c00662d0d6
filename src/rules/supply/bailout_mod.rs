//! `bailout-mod`: the gas to get out on may not be breathed at the deepest place of the dive.

use crate::findings::Level;
use crate::rules::mix::mod_exceeded;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "bailout-mod",
    family: Family::Supply,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("bailout_mod.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    mod_exceeded::each(look, out, &RULE, mod_exceeded::is_to_get_out_on);
}
