//! `service-due`: a unit is past its service.

use super::{is_loop, named, of_unit, taken};
use crate::findings::{Level, said};
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("service-due", Family::Unit, Level::Warning, include_str!("service_due.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(on) = &dive.plan.on else { continue };
        let Some(due) = &unit.thing.service_due else {
            if is_loop(&unit.thing) {
                sink.lacks(named(&dive, unit).clone(), format!("`service due=` of unit {:?}", unit.name.value));
            }
            continue;
        };
        if due.value >= on.value {
            continue;
        }
        let message = said!(
            "the service of unit {unit:?} was due on {due}: the dive is on {on}",
            unit = unit.name.value,
            due = due.value,
            on = on.value
        );
        let place = &due.place;
        let finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the service");
        sink.find(finding.with_related(on.place.clone(), "the day of the dive"));
    }
}
