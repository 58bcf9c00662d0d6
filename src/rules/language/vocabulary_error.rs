//! From errors against the vocabulary to findings.

use crate::findings::{Fix, FixKind};
use crate::rules::{Context, Rule, Sink};
use crate::source::{Edit, Span};
use crate::words::VocabularyErrorKind;

/// Says every error of a kind as a finding of a rule.
pub(super) fn say(rule: &Rule, kind: VocabularyErrorKind, context: &Context<'_>, sink: &mut Sink<'_>) {
    for error in context.errors.iter().filter(|error| error.kind == kind) {
        let mut finding = rule.finding(context.here(error.span), error.message.clone());
        for (span, message) in &error.related {
            finding = finding.with_related(context.here(*span), &**message);
        }
        for offered in &error.fixes {
            finding.fixes.extend(fix(context, &offered.title, offered.kind, &offered.edits));
        }
        sink.find(finding);
    }
}

/// A fix in the file looked at; none where the text is not what the file's bytes say, so that an edit might lose some.
pub(super) fn fix(context: &Context<'_>, title: &str, kind: FixKind, edits: &[(Span, String)]) -> Option<Fix> {
    if context.text.is_lossy() {
        return None;
    }
    let edits = edits.iter().map(|(span, text)| Edit { place: context.here(*span), text: text.clone() }).collect();
    Some(Fix { title: title.to_owned(), kind, edits })
}
