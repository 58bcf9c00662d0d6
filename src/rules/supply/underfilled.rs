//! `underfilled`: a cylinder is far from full.

use crate::findings::{Level, said};
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("underfilled", Family::Supply, Level::Note, include_str!("underfilled.md"), look);

/// Less than this share of the working pressure is far from full (common practice, no source).
pub(crate) const FULL_SHARE: f64 = 0.75;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(context) {
        let Ok(gas) = dive.gas(carried) else { continue };
        let Some(working) = &cylinder.thing.working_gauge_bar else {
            let fact = format!("`working=` of cylinder {:?}", cylinder.name.value);
            sink.lacks(carried.name.place.clone(), fact);
            continue;
        };
        let Some(gauge) = &gas.fill.gauge_bar else { continue };
        if gauge.value >= FULL_SHARE * working.value {
            continue;
        }
        let message = said!(
            "cylinder {cylinder:?} was filled to {filled_to} of {working} bar",
            cylinder = cylinder.name.value,
            filled_to = say::number(gauge.value),
            working = say::number(working.value)
        );
        let place = &gauge.place;
        sink.find(of_cylinder(context, &dive, carried, RULE.finding(place.clone(), message), place, "the fill"));
    }
}
