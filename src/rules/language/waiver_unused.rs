//! `waiver-unused`: an `allow` that covers no finding.

use crate::findings::{Finding, FixKind, Level};
use crate::rules::{Family, Look, Mends, Rule, Use, find, mend};
use crate::words::FileKind;

/// The rule. What it says is known only once all others have spoken, so [`faults`] says it then.
pub const RULE: Rule = Rule {
    slug: "waiver-unused",
    family: Family::Language,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::Always,
    waivable: false,
    safety: false,
    statuses: &[],
    page: include_str!("waiver_unused.md"),
    look: |_, _| {},
};

/// The findings, given what became of the file's own waivers.
///
/// Only a plan's waivers are judged: one in a kit file may be there for a plan that is not looked at.
pub fn faults(at: &Look<'_>, used: &[Use]) -> Vec<Finding> {
    if at.kind != FileKind::Plan {
        return Vec::new();
    }
    let good = |slug: &str| find(slug).is_some_and(|rule| rule.waivable);
    at.waivers
        .iter()
        .zip(used)
        .filter(|(waiver, used)| **used == Use::Nothing && waiver.reason().is_some() && good(&waiver.rule))
        .map(|(waiver, _)| {
            let message = format!("waives {}, which nothing here raises", *waiver.rule);
            let fix = mend::take_out(at, &waiver.place, "waiver", FixKind::Safe);
            let mut finding = RULE.finding(waiver.place.clone(), message).with_fix(fix);
            finding.unused = true;
            finding
        })
        .collect()
}
