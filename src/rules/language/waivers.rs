//! What became of a file's waivers, once all rules have spoken.

use crate::findings::{Finding, FixKind, Level, Said, said};
use crate::plan::Waiver;
use crate::rules::{Context, RuleInfo, fix};
use crate::source::Text;
use crate::words::FileKind;

/// The findings about waivers that meet only what can't be waived, though their rule can.
pub(in crate::rules) fn refused(rule: &RuleInfo, context: &Context<'_>, used: &[Use]) -> Vec<Finding> {
    let refused = context.waivers.iter().zip(used).filter(|(_, used)| **used == Use::Refused);
    let said = |waiver: &Waiver| {
        said!("{rule} can't be waived here: it is past what any waiver may cover", rule = *waiver.rule)
    };
    let finding = |waiver: &Waiver| {
        let fix = fix::take_out(context.text, &waiver.place, "waiver", FixKind::Safe);
        rule.finding(waiver.rule.place.clone(), said(waiver)).with_fix(fix)
    };
    refused.map(|(waiver, _)| finding(waiver)).collect()
}

/// The findings, given what became of the file's own waivers.
///
/// Only a plan's waivers are judged: one in a kit file may be there for a plan that is not looked at, so that is told by
/// who looks at all of them ([`idle`]).
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
            finding(rule, context.text, waiver, message)
        })
        .collect()
}

/// The finding about a waiver of a kit file that no plan has a use for; none about one that is no good at all, which is
/// told where it stands.
pub(crate) fn idle(text: &Text, waiver: &Waiver) -> Option<Finding> {
    waiver.reason()?;
    super::super::info(&waiver.rule).filter(|rule| rule.waivable)?;
    let message = said!("waives {rule}, which no plan still to be dived raises here", rule = *waiver.rule);
    let mut finding = finding(super::super::info("waiver-unused")?, text, waiver, message);
    // What nobody needs today may be needed by the next plan that is written.
    finding.level = Level::Note;
    Some(finding)
}

fn finding(rule: &RuleInfo, text: &Text, waiver: &Waiver, message: Said) -> Finding {
    let fix = fix::take_out(text, &waiver.place, "waiver", FixKind::Safe);
    let mut finding = rule.finding(waiver.place.clone(), message).with_fix(fix);
    finding.unused = true;
    finding
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
