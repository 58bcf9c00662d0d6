//! `gradient-missing`: a plan that is ready gives no gradient.

use crate::findings::Level;
use crate::rules::{Family, Look, Mends, Out, READY, Rule};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "gradient-missing",
    family: Family::Exposure,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: READY,
    page: include_str!("gradient_missing.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    let Some(plan) = look.plan.filter(|plan| !plan.dives.is_empty()) else { return };
    let limits = &plan.limits;
    let which = match (&limits.gradient_low, &limits.gradient_high) {
        (Some(_), Some(_)) => return,
        (None, None) => "no `gradient low= high=`",
        (None, Some(_)) => "no `gradient low=`",
        (Some(_), None) => "no `gradient high=`",
    };
    let place = limits.place.clone().unwrap_or_else(|| plan.name.place.clone());
    let message = format!("the limits give {which}: no stops are worked out, and no ceiling is known");
    out.find(RULE.finding(place, message));
}
