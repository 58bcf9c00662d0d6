//! From slips of the vocabulary to findings.

use crate::findings::{Fix, FixKind};
use crate::rules::{Look, Out, Rule};
use crate::source::{Edit, Span};
use crate::words::SlipKind;

/// Says every slip of a kind as a finding of a rule.
pub(super) fn say(rule: &Rule, kind: SlipKind, look: &Look<'_>, out: &mut Out<'_>) {
    for slip in look.slips.iter().filter(|slip| slip.kind == kind) {
        let mut finding = rule.finding(look.here(slip.span), &*slip.message);
        for (span, message) in &slip.related {
            finding = finding.with_related(look.here(*span), &**message);
        }
        for mend in &slip.mends {
            finding.fixes.extend(fix(look, &mend.title, mend.kind, &mend.edits));
        }
        out.find(finding);
    }
}

/// A fix in the file looked at; none where the text is not what the file's bytes say, so that an edit might lose some.
pub(super) fn fix(look: &Look<'_>, title: &str, kind: FixKind, edits: &[(Span, String)]) -> Option<Fix> {
    if look.text.is_lossy() {
        return None;
    }
    let edits = edits.iter().map(|(span, text)| Edit { place: look.here(*span), text: text.clone() }).collect();
    Some(Fix { title: title.to_owned(), kind, edits })
}
