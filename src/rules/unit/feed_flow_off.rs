//! `feed-flow-off`: the constant feed as measured is not what the unit is made for.

use super::{named, of_unit, taken};
use crate::findings::{Level, Wording, said};
use crate::physics::loop_balance::FEED_TOLERANCE;
use crate::physics::tolerance;
use crate::plan::as_of;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("feed-flow-off", Family::Unit, Level::Error, include_str!("feed_flow_off.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(day) = dive.day() else { continue };
        let Some(measured) = as_of(&unit.thing.flow, day).and_then(|flow| flow.what.as_ref()) else { continue };
        let Some(rated) = &unit.thing.feed_constant_lpm else {
            sink.lacks(named(&dive, unit).clone(), format!("`feed constant=` of unit {:?}", unit.name.value));
            continue;
        };
        let off = measured.value / rated.value - 1.0;
        if !off.is_finite() || off.abs() <= FEED_TOLERANCE + tolerance::FRACTION {
            continue;
        }
        let (is, should) = (say::number(measured.value), say::number(rated.value));
        let message = said!(
            "the constant feed of unit {unit:?} was measured as {is} L/min, {off} % {way} the {should} it should be: {allowed} % is allowed",
            unit = unit.name.value,
            off = say::number(say::up(off.abs() * 100.0, 0.1)),
            way = Wording(if off < 0.0 { "under" } else { "over" }),
            allowed = say::number(FEED_TOLERANCE * 100.0),
            is,
            should
        );
        let place = &measured.place;
        let finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the measurement");
        let finding = finding.with_related(rated.place.clone(), "the feed it is made for");
        sink.find(finding.with_step(
            "off = measured/rated − 1",
            format!("{is}/{should} − 1"),
            format!("{:.2} %", off * 100.0),
        ));
    }
}
