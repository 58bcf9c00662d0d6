//! `reserve-missing`: a plan that is ready sets no reserve.

use crate::findings::Level;
use crate::forecast::dives;
use crate::forecast::limits::RESERVE_BAR;
use crate::rules::{Context, Family, READY, Rule, Sink, say};

/// The rule.
pub const RULE: Rule =
    Rule::new("reserve-missing", Family::Supply, Level::Note, include_str!("reserve_missing.md"), look).at(READY);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    let dived = |dive: &dives::DiverDive<'_>| dive.kind().is_some();
    if plan.limits.reserve_gauge_bar.is_some() || !dives::of(plan).iter().any(dived) {
        return;
    }
    let place = plan.limits.place.clone().unwrap_or_else(|| plan.name.place.clone());
    let message = format!("no `reserve` is set: {} bar are taken", say::number(RESERVE_BAR));
    sink.find(RULE.finding(place, message));
}
