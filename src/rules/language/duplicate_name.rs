//! `duplicate-name`: one name for two things, or a word twice that can stand once.

use super::link;
use crate::findings::{Fix, Level};
use crate::rules::{Family, LinkKind, Look, Mends, Out, Rule};
use crate::source::Edit;
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
    for slip in look.slips.iter().filter(|slip| slip.kind == SlipKind::DuplicateName) {
        let mut finding = RULE.finding(look.here(slip.span), &*slip.message);
        for (span, message) in &slip.related {
            finding = finding.with_related(look.here(*span), &**message);
        }
        for (title, kind, edits) in &slip.mends {
            let edit = |(span, text): &(_, String)| Edit { place: look.here(*span), text: text.clone() };
            let edits = edits.iter().map(edit).collect();
            finding = finding.with_fix(Fix { title: title.clone(), kind: *kind, edits });
        }
        out.find(finding);
    }
}
