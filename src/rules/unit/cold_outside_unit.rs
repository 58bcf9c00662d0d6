//! `cold-outside-unit`: the water is colder than the unit may dive in.

use super::{named, of_unit, taken};
use crate::findings::Level;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "cold-outside-unit",
    family: Family::Unit,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("cold_outside_unit.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, unit) in taken(look) {
        // A unit that says nothing has no such limit that anyone wrote down.
        let Some(coldest) = &unit.thing.reach_coldest_c else { continue };
        let Some(water) = dive.plan.site.as_ref().and_then(|site| site.temperature_c.as_ref()) else {
            let fact = "the water's temperature (`site temperature=`)".to_owned();
            out.lacks(named(&dive, unit).clone(), fact);
            continue;
        };
        if water.value >= coldest.value - 1e-9 {
            continue;
        }
        let message = format!(
            "the water is at {} °C: unit {:?} may dive in {} °C and warmer",
            say::number(water.value),
            unit.name.value,
            say::number(coldest.value),
        );
        let named = named(&dive, unit);
        let finding = of_unit(look, &dive, unit, RULE.finding(named.clone(), message), named, "the unit");
        out.find(
            finding
                .with_related(water.place.clone(), "the water's temperature")
                .with_related(coldest.place.clone(), "the coldest its maker allows"),
        );
    }
}
