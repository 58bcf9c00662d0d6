//! `underfilled`: a cylinder is far from full.

use crate::findings::Level;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "underfilled",
    family: Family::Supply,
    level: Level::Note,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: TO_DIVE,
    page: include_str!("underfilled.md"),
    look,
};

/// Less than this share of the working pressure is far from full (common practice, no source).
pub const FULL_SHARE: f64 = 0.75;

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(look) {
        let Ok(gas) = dive.gas(carried) else { continue };
        let Some(working) = &cylinder.thing.working_gauge_bar else {
            let fact = format!("`working=` of cylinder {:?}", cylinder.name.value);
            out.lacks(carried.name.place.clone(), fact);
            continue;
        };
        let Some(gauge) = &gas.fill.gauge_bar else { continue };
        if gauge.value >= FULL_SHARE * working.value {
            continue;
        }
        let message = format!(
            "cylinder {:?} was filled to {} of {} bar",
            cylinder.name.value,
            say::number(gauge.value),
            say::number(working.value)
        );
        let place = &gauge.place;
        out.find(of_cylinder(look, &dive, carried, RULE.finding(place.clone(), message), place, "the fill"));
    }
}
