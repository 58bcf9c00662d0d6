//! `gradient-missing`: a plan that is ready gives no gradient.

use crate::findings::Level;
use crate::rules::{Context, Family, READY, Rule, Sink};
use crate::words::LimitName;

/// The rule.
pub const RULE: Rule =
    Rule::new("gradient-missing", Family::Exposure, Level::Warning, include_str!("gradient_missing.md"), look)
        .safety()
        .at(READY);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan.filter(|plan| !plan.dives.is_empty()) else { return };
    let limits = &plan.limits;
    let which = match (limits.said(LimitName::GradientLow), limits.said(LimitName::GradientHigh)) {
        (Some(_), Some(_)) => return,
        (None, None) => "no `gradient low= high=`",
        (None, Some(_)) => "no `gradient low=`",
        (Some(_), None) => "no `gradient high=`",
    };
    let place = limits.place.clone().unwrap_or_else(|| plan.name.place.clone());
    let message = format!("the limits give {which}: no stops are worked out, and no ceiling is known");
    sink.find(RULE.finding(place, message));
}
