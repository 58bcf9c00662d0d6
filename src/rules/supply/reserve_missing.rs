//! `reserve-missing`: a plan that is ready sets no reserve.

use crate::findings::{Level, said};
use crate::forecast::dives;
use crate::rules::{Context, Family, READY, Rule, Sink, say};
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("reserve-missing", Family::Supply, Level::Note, include_str!("reserve_missing.md"), look).at(READY);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    let dived = |dive: &dives::DiverDive<'_>| dive.kind().is_some();
    if plan.limits.said(LimitName::Reserve).is_some() || !dives::of(plan).iter().any(dived) {
        return;
    }
    let place = plan.limits.place.clone().unwrap_or_else(|| plan.name.place.clone());
    let message = said!(
        "no `reserve` is set: {taken} bar are assumed",
        taken = say::number(plan.limits.value(LimitName::Reserve))
    );
    sink.find(RULE.finding(place, message));
}
