//! `overfilled`: a cylinder holds more than it is made for.

use crate::findings::{Level, said};
use crate::forecast::dives::{DiverDive, Gas, fractions};
use crate::physics::gas::Stored;
use crate::physics::litres::FREE_C;
use crate::physics::tolerance;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::words::LimitName;

/// The rule: an error where it is by much.
pub(crate) const RULE: Rule =
    Rule::new("overfilled", Family::Supply, Level::Error, include_str!("overfilled.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(context) {
        let Ok(gas) = dive.gas(carried) else { continue };
        let Some(working) = &cylinder.thing.working_gauge_bar else {
            let fact = format!("`working=` of cylinder {:?}", cylinder.name.value);
            sink.lacks(carried.name.place.clone(), fact);
            continue;
        };
        let Some(gauge) = &gas.fill.gauge_bar else { continue };
        let read_c = gas
            .fill
            .temperature_c
            .as_ref()
            .map_or_else(|| dive.plan.limits.value(LimitName::FillingTemperature), |read| read.value);
        let at_20 = at_20_bar(&dive, &gas, gauge.value, read_c).unwrap_or(gauge.value);
        if at_20 <= working.value + 0.5 {
            continue;
        }
        let message = said!(
            "cylinder {cylinder:?} holds {holds} bar at 20 °C and is made for {made_for}",
            cylinder = cylinder.name.value,
            holds = say::number(say::up(at_20, 1.0)),
            made_for = say::number(working.value)
        );
        let place = &gauge.place;
        let mut finding = of_cylinder(context, &dive, carried, RULE.finding(place.clone(), message), place, "the fill");
        let limits = &dive.plan.limits;
        finding.level = match at_20 / working.value - 1.0 {
            over if over * 100.0 <= limits.value(LimitName::OverfillNote) + tolerance::FRACTION => Level::Note,
            over if over * 100.0 <= limits.value(LimitName::OverfillMost) + tolerance::FRACTION => Level::Warning,
            _ => Level::Error,
        };
        sink.find(finding.with_related(working.place.clone(), "what it is made for").with_step(
            "the same gas at 20 °C",
            format!("{} bar at {} °C", say::number(gauge.value), say::number(read_c)),
            format!("{at_20:.1} bar"),
        ));
    }
}

/// What the gauge would show at 20 °C.
fn at_20_bar(dive: &DiverDive<'_>, gas: &Gas<'_>, gauge_bar: f64, read_c: f64) -> Option<f64> {
    let (mix, surface_bar) = (fractions(gas.lean), dive.water().surface_bar);
    let litres = Stored::new(mix, read_c)?.free_l(1.0, gauge_bar, surface_bar)?;
    Stored::new(mix, FREE_C)?.gauge_bar(1.0, litres, surface_bar)
}
