//! `syntax`: a text that KDL can't read.

use super::slip;
use crate::findings::{FixKind, Level};
use crate::rules::{Family, Look, Mends, Out, Rule};
use crate::source::Span;
use crate::syntax::FaultKind;

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
    not_utf8(look, out);
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

/// A file's bytes that are no text: one finding, at the first of them. The tree sees only what stands for them, so it is
/// the text that knows.
fn not_utf8(look: &Look<'_>, out: &mut Out<'_>) {
    if !look.text.is_lossy() || look.tree.faults().iter().any(|fault| fault.kind == FaultKind::NotUtf8) {
        return;
    }
    let stands_for_it = char::REPLACEMENT_CHARACTER;
    let start = look.text.as_str().find(stands_for_it).unwrap_or_default() as u32;
    let span = Span::new(start, start + stands_for_it.len_utf8() as u32);
    let message =
        "the file is not UTF-8 from here on, so its text can't be trusted and no fix is offered: save it as UTF-8";
    out.find(RULE.finding(look.here(span), message));
}
