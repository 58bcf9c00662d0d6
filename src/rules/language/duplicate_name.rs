//! `duplicate-name`: one name for two things, or a word twice that can stand once.

use super::{link, slip};
use crate::findings::Level;
use crate::rules::{Family, LinkKind, Look, Mends, Out, Rule};
use crate::words::SlipKind;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "duplicate-name",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: false,
    statuses: &[],
    page: include_str!("duplicate_name.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    link::say(&RULE, LinkKind::DuplicateName, look, out);
    slip::say(&RULE, SlipKind::DuplicateName, look, out);
}
