//! `reserve-missing`: a plan that is ready sets no reserve.

use crate::findings::Level;
use crate::plan::UnitKind;
use crate::rules::dives;
use crate::rules::limits::RESERVE_BAR;
use crate::rules::{Family, Look, Mends, Out, READY, Rule, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "reserve-missing",
    family: Family::Supply,
    level: Level::Note,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: READY,
    page: include_str!("reserve_missing.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    let Some(plan) = look.plan else { return };
    let on_loop = |dive: &dives::OneDive<'_>| !matches!(dive.kind(), None | Some(UnitKind::Open));
    if plan.limits.reserve_gauge_bar.is_some() || !dives::of(plan).iter().any(on_loop) {
        return;
    }
    let place = plan.limits.place.clone().unwrap_or_else(|| plan.name.place.clone());
    let message = format!("no `reserve` is set: {} bar are taken", say::number(RESERVE_BAR));
    out.find(RULE.finding(place, message));
}
