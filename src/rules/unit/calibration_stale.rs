//! `calibration-stale`: the oxygen cells were not calibrated on the day of the dive.

use super::{is_loop, named, of_unit, taken};
use crate::findings::{Level, said};
use crate::plan::as_of;
use crate::rules::{Context, Family, READY, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("calibration-stale", Family::Unit, Level::Warning, include_str!("calibration_stale.md"), look)
        .safety()
        .at(READY);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(on) = &dive.plan.on else { continue };
        if !is_loop(&unit.thing) || unit.thing.cells.is_empty() {
            continue;
        }
        let Some(last) = as_of(&unit.thing.calibrated, on.value) else {
            let fact = format!("a `calibrated` on the day of the dive of unit {:?}", unit.name.value);
            sink.lacks(named(&dive, unit).clone(), fact);
            continue;
        };
        let Some(then) = last.on.as_ref().filter(|then| then.value < on.value) else { continue };
        let message = said!(
            "the cells of unit {unit:?} were last calibrated on {calibrated}: the dive is on {on}",
            unit = unit.name.value,
            calibrated = then.value,
            on = on.value
        );
        let place = &then.place;
        let finding =
            of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the last calibration");
        sink.find(finding.with_related(on.place.clone(), "the day of the dive"));
    }
}
