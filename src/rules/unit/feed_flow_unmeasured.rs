//! `feed-flow-unmeasured`: the constant feed was not measured on the day of the dive.

use super::{of_unit, taken};
use crate::findings::Level;
use crate::plan::{UnitKind, as_of};
use crate::rules::{Family, Look, Mends, Out, READY, Rule, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "feed-flow-unmeasured",
    family: Family::Unit,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: READY,
    page: include_str!("feed_flow_unmeasured.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, unit) in taken(look) {
        let (Some(on), Some(constant)) = (&dive.plan.on, &unit.thing.feed_constant_lpm) else { continue };
        let semi_closed = unit.thing.kind.as_ref().is_some_and(|kind| kind.value == UnitKind::SemiClosed);
        if !semi_closed || constant.value <= 0.0 {
            continue;
        }
        let last = as_of(&unit.thing.flow, on.value).and_then(|flow| flow.on.as_ref());
        let when = match last {
            Some(last) if last.value >= on.value => continue,
            Some(last) => format!("was last measured on {}: the dive is on {}", last.value, on.value),
            None => format!("was never measured: the dive is on {}", on.value),
        };
        let message =
            format!("the constant feed of unit {:?}, {} L/min, {when}", unit.name.value, say::number(constant.value));
        let place = last.map_or(&constant.place, |last| &last.place);
        let what = if last.is_some() { "the last measurement" } else { "the feed" };
        let finding = of_unit(look, &dive, unit, RULE.finding(place.clone(), message), place, what);
        out.find(finding.with_related(on.place.clone(), "the day of the dive"));
    }
}
