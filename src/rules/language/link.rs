//! From link faults to findings.

use super::slip;
use crate::findings::FixKind;
use crate::rules::{LinkKind, Look, Out, Rule};
use crate::source::Span;

/// Says every link fault of a kind as a finding of a rule.
pub(super) fn say(rule: &Rule, kind: LinkKind, look: &Look<'_>, out: &mut Out<'_>) {
    for fault in look.links.iter().filter(|fault| fault.kind == kind) {
        let mut finding = rule.finding(fault.place.clone(), &*fault.message);
        finding.level = fault.level;
        finding.unused = kind == LinkKind::UnusedDefinition;
        for (place, message) in &fault.related {
            finding = finding.with_related(place.clone(), &**message);
        }
        if let Some(path) = &fault.bring {
            let edit = use_line(look, path);
            finding.fixes.extend(slip::fix(look, &format!("use {path:?}"), FixKind::Suggested, &[edit]));
        }
        for instead in &fault.instead {
            let edit = (fault.place.span, instead.clone());
            finding.fixes.extend(slip::fix(look, &format!("write {instead}"), FixKind::Suggested, &[edit]));
        }
        out.find(finding);
    }
}

/// A `use` in front of the file's first one, or of all else that the file says.
fn use_line(look: &Look<'_>, path: &str) -> (Span, String) {
    let tree = look.tree;
    let first = tree.roots().find(|node| tree.name(*node).text == "use").or_else(|| tree.roots().next());
    let at = first.map_or(look.text.len(), |node| tree.span(node).start);
    let line_break = if look.text.as_str().contains("\r\n") { "\r\n" } else { "\n" };
    (Span::at(at), format!("use {path:?}{line_break}"))
}
