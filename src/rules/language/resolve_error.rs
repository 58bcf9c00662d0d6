//! From what can't be resolved to findings.

use super::vocabulary_error;
use crate::findings::FixKind;
use crate::plan::{Bring, ResolveErrorKind};
use crate::rules::{Context, Rule, Sink};
use crate::source::Span;

/// Says every resolve error of a kind as a finding of a rule.
pub(super) fn say(rule: &Rule, kind: ResolveErrorKind, context: &Context<'_>, sink: &mut Sink<'_>) {
    for error in context.links.iter().filter(|error| error.kind == kind) {
        let mut finding = rule.finding(error.place.clone(), error.message.clone());
        finding.level = error.level;
        finding.unused = kind == ResolveErrorKind::UnusedDefinition;
        for (place, message) in &error.related {
            finding = finding.with_related(place.clone(), &**message);
        }
        if let Some(Bring { path, only, .. }) = &error.bring {
            let edit = use_line(context, path);
            let kind = if *only { FixKind::Safe } else { FixKind::Suggested };
            finding.fixes.extend(vocabulary_error::fix(context, &format!("add `use {path:?}`"), kind, &[edit]));
        }
        for instead in &error.instead {
            let edit = (error.place.span, instead.clone());
            finding.fixes.extend(vocabulary_error::fix(
                context,
                &format!("write {instead}"),
                FixKind::Suggested,
                &[edit],
            ));
        }
        sink.find(finding);
    }
}

/// A `use` behind the file's last one, or in front of all else that the file says.
fn use_line(context: &Context<'_>, path: &str) -> (Span, String) {
    let tree = context.tree;
    let line_break = if context.text.as_str().contains("\r\n") { "\r\n" } else { "\n" };
    match tree.roots().filter(|node| tree.name(*node).text == "use").last() {
        Some(last) => (Span::at(tree.span(last).end), format!("{line_break}use {path:?}")),
        None => {
            let at = tree.roots().next().map_or(context.text.len(), |node| tree.span(node).start);
            (Span::at(at), format!("use {path:?}{line_break}"))
        }
    }
}
