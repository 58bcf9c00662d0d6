//! `syntax`: a text that KDL can't read.

use super::slip;
use crate::findings::{FixKind, Level};
use crate::rules::{Family, Look, Mends, Out, Rule};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "syntax",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: false,
    safety: true,
    statuses: &[],
    page: include_str!("syntax.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for fault in look.tree.faults() {
        let message = match &fault.help {
            Some(help) => format!("{}: {help}", fault.message.trim_end_matches('.')),
            None => fault.message.clone(),
        };
        let mut finding = RULE.finding(look.here(fault.span), message);
        if let Some((title, edits)) = &fault.mend {
            finding.fixes.extend(slip::fix(look, title, FixKind::Safe, edits));
        }
        out.find(finding);
    }
}
