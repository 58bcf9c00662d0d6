//! From link faults to findings.

use super::slip;
use crate::findings::FixKind;
use crate::rules::{LinkKind, Look, Out, Rule};

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
            let edit = (fault.place.span, instead.clone());
            finding.fixes.extend(slip::fix(look, &format!("write {instead}"), FixKind::Suggested, &[edit]));
        }
        out.find(finding);
    }
}
