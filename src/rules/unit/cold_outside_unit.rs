//! `cold-outside-unit`: the water is colder than the unit may dive in.

use super::{named, of_unit, taken};
use crate::findings::{Level, said};
use crate::physics::tolerance;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cold-outside-unit", Family::Unit, Level::Error, include_str!("cold_outside_unit.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        // A unit that says nothing has no such limit that anyone wrote down.
        let Some(coldest) = &unit.thing.reach_coldest_c else { continue };
        let Some(water) = dive.plan.site.as_ref().and_then(|site| site.temperature_c.as_ref()) else {
            let fact = "the water's temperature (`site temperature=`)".to_owned();
            sink.lacks(named(&dive, unit).clone(), fact);
            continue;
        };
        if water.value >= coldest.value - tolerance::WRITTEN {
            continue;
        }
        let message = said!(
            "the water is at {water} °C: unit {unit:?} may dive in {coldest} °C and warmer",
            water = say::number(water.value),
            unit = unit.name.value,
            coldest = say::number(coldest.value)
        );
        let named = named(&dive, unit);
        let finding = of_unit(context, &dive, unit, RULE.finding(named.clone(), message), named, "the unit");
        sink.find(
            finding
                .with_related(water.place.clone(), "the water's temperature")
                .with_related(coldest.place.clone(), "the coldest its maker allows"),
        );
    }
}
