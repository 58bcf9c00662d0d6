//! `feed-flow-unmeasured`: the constant feed was not measured on the day of the dive.

use super::{of_unit, taken};
use crate::findings::{Level, said};
use crate::plan::{ApparatusKind, as_of};
use crate::rules::{Context, Family, READY, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("feed-flow-unmeasured", Family::Unit, Level::Warning, include_str!("feed_flow_unmeasured.md"), look)
        .safety()
        .at(READY);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let (Some(on), Some(constant)) = (&dive.plan.on, &unit.thing.feed_constant_lpm) else { continue };
        let semi_closed = unit.thing.kind.as_ref().is_some_and(|kind| kind.value == ApparatusKind::SemiClosed);
        if !semi_closed || constant.value <= 0.0 {
            continue;
        }
        let last = as_of(&unit.thing.flow, on.value).and_then(|flow| flow.on.as_ref());
        let when = match last {
            Some(last) if last.value >= on.value => continue,
            Some(last) => {
                said!("was last measured on {measured}: the dive is on {on}", measured = last.value, on = on.value)
            }
            None => said!("was never measured: the dive is on {on}", on = on.value),
        };
        let message = said!(
            "the constant feed of unit {unit:?}, {feed} L/min, {when}",
            unit = unit.name.value,
            feed = say::number(constant.value),
            when
        );
        let place = last.map_or(&constant.place, |last| &last.place);
        let what = if last.is_some() { "the last measurement" } else { "the feed" };
        let finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, what);
        sink.find(finding.with_related(on.place.clone(), "the day of the dive"));
    }
}
