//! What became of a file's waivers, once all rules have spoken.

use crate::findings::{Finding, FixKind, said};
use crate::plan::Waiver;
use crate::rules::{Context, RuleInfo, fix};
use crate::words::FileKind;

/// The findings about waivers that meet only what can't be waived, though their rule can.
pub(in crate::rules) fn refused(rule: &RuleInfo, context: &Context<'_>, used: &[Use]) -> Vec<Finding> {
    let refused = context.waivers.iter().zip(used).filter(|(_, used)| **used == Use::Refused);
    let said = |waiver: &Waiver| {
        said!("{rule} can't be waived here: it is past what any waiver may cover", rule = *waiver.rule)
    };
    let finding = |waiver: &Waiver| {
        let fix = fix::take_out(context, &waiver.place, "waiver", FixKind::Safe);
        rule.finding(waiver.rule.place.clone(), said(waiver)).with_fix(fix)
    };
    refused.map(|(waiver, _)| finding(waiver)).collect()
}

/// The findings, given what became of the file's own waivers.
///
/// Only a plan's waivers are judged: one in a kit file may be there for a plan that is not looked at.
pub(in crate::rules) fn unused(rule: &RuleInfo, context: &Context<'_>, used: &[Use]) -> Vec<Finding> {
    if context.kind != FileKind::Plan {
        return Vec::new();
    }
    let good = |slug: &str| context.rule(slug).is_some_and(|rule| rule.waivable);
    context
        .waivers
        .iter()
        .zip(used)
        .filter(|(waiver, used)| **used == Use::Nothing && waiver.reason().is_some() && good(&waiver.rule))
        .map(|(waiver, _)| {
            let message = said!("waives {rule}, which nothing here raises", rule = *waiver.rule);
            let fix = fix::take_out(context, &waiver.place, "waiver", FixKind::Safe);
            let mut finding = rule.finding(waiver.place.clone(), message).with_fix(fix);
            finding.unused = true;
            finding
        })
        .collect()
}

/// What became of a waiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Use {
    /// It covers nothing.
    Nothing,
    /// All that it would cover can't be waived.
    Refused,
    /// It covers something.
    Covers,
}
