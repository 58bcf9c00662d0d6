//! `oxygen-clean-due`: a cylinder with rich gas is past its cleaning for oxygen service.

use crate::findings::{Level, said};
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("oxygen-clean-due", Family::Unit, Level::Warning, include_str!("oxygen_clean_due.md"), look).safety();

/// Percent of oxygen above which a cylinder must be clean for oxygen service (common practice, no source).
const RICH_PERCENT: f64 = 40.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(context) {
        let Some(on) = &dive.plan.on else { continue };
        let gas = match dive.gas(carried) {
            Ok(gas) => gas,
            Err(unknown) => {
                sink.lacks_all(unknown.missing());
                continue;
            }
        };
        if gas.rich.o2_percent <= RICH_PERCENT {
            continue;
        }
        let Some(due) = &cylinder.thing.clean_due else {
            sink.lacks(carried.name.place.clone(), format!("`clean due=` of cylinder {:?}", cylinder.name.value));
            continue;
        };
        if due.value >= on.value {
            continue;
        }
        let message = said!(
            "cylinder {cylinder:?} holds {o2} % oxygen and was due for oxygen cleaning on {due}: the dive is on {on}",
            cylinder = cylinder.name.value,
            o2 = say::number(gas.rich.o2_percent),
            due = due.value,
            on = on.value
        );
        let place = &due.place;
        let finding = of_cylinder(context, &dive, carried, RULE.finding(place.clone(), message), place, "the cleaning");
        sink.find(
            finding
                .with_related(gas.rich.place.clone(), "the mix")
                .with_related(on.place.clone(), "the day of the dive"),
        );
    }
}
