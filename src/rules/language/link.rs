//! From link faults to findings.

use crate::findings::{Fix, FixKind};
use crate::rules::{LinkKind, Look, Out, Rule};
use crate::source::Edit;

/// Says every link fault of a kind as a finding of a rule.
pub(super) fn say(rule: &Rule, kind: LinkKind, look: &Look<'_>, out: &mut Out<'_>) {
    for fault in look.links.iter().filter(|fault| fault.kind == kind) {
        let mut finding = rule.finding(fault.place.clone(), &*fault.message);
        finding.level = fault.level;
        finding.unused = kind == LinkKind::UnusedDefinition;
        for (place, message) in &fault.related {
            finding = finding.with_related(place.clone(), &**message);
        }
        for instead in &fault.instead {
            finding = finding.with_fix(Fix {
                title: format!("write {instead}"),
                kind: FixKind::Suggested,
                edits: vec![Edit { place: fault.place.clone(), text: instead.clone() }],
            });
        }
        out.find(finding);
    }
}
