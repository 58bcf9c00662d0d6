//! `battery-low`: a battery's last charge is under what it may dive with.

use super::{named, of_unit, taken};
use crate::findings::{Level, said};
use crate::plan::as_of;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("battery-low", Family::Unit, Level::Error, include_str!("battery_low.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(day) = dive.day() else { continue };
        for battery in &unit.thing.batteries {
            let whose = said!("battery {battery:?} of unit {unit:?}", battery = *battery.name, unit = unit.name.value);
            let charge = as_of(&battery.charges, day).and_then(|charge| charge.what.as_ref());
            let (Some(least), Some(charge)) = (&battery.least_percent, charge) else {
                let fact = if battery.least_percent.is_none() { "`least=`" } else { "a `charge` on or before the day" };
                sink.lacks(named(&dive, unit).clone(), format!("{fact} of {whose}"));
                continue;
            };
            if charge.value < least.value {
                let message = said!(
                    "{whose} is at {charge} %, under the {least} % it may dive with",
                    charge = say::number(charge.value),
                    least = say::number(least.value),
                    whose
                );
                let finding = RULE.finding(charge.place.clone(), message);
                let finding = of_unit(context, &dive, unit, finding, &charge.place, "the charge");
                sink.find(finding.with_related(least.place.clone(), "the least charge"));
            }
        }
    }
}
