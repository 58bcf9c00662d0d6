//! `waiver-unused`: an `allow` that covers no finding.

use crate::findings::{Finding, FixKind, Level};
use crate::rules::{ANY_FILE, Context, Family, FixAvailability, Rule, Use, find, fix};
use crate::words::FileKind;

/// The rule. What it says is known only once all others have spoken, so [`errors`] says it then.
pub const RULE: Rule =
    Rule::new("waiver-unused", Family::Language, Level::Warning, include_str!("waiver_unused.md"), |_, _| {})
        .fixes(FixAvailability::Always)
        .never_waived()
        .at(ANY_FILE);

/// The findings, given what became of the file's own waivers.
///
/// Only a plan's waivers are judged: one in a kit file may be there for a plan that is not looked at.
pub fn errors(context: &Context<'_>, used: &[Use]) -> Vec<Finding> {
    if context.kind != FileKind::Plan {
        return Vec::new();
    }
    let good = |slug: &str| find(slug).is_some_and(|rule| rule.waivable);
    context
        .waivers
        .iter()
        .zip(used)
        .filter(|(waiver, used)| **used == Use::Nothing && waiver.reason().is_some() && good(&waiver.rule))
        .map(|(waiver, _)| {
            let message = format!("waives {}, which nothing here raises", *waiver.rule);
            let fix = fix::take_out(context, &waiver.place, "waiver", FixKind::Safe);
            let mut finding = RULE.finding(waiver.place.clone(), message).with_fix(fix);
            finding.unused = true;
            finding
        })
        .collect()
}
