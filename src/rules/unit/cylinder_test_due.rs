//! `cylinder-test-due`: a cylinder is past its pressure test.

use crate::findings::{Level, said};
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cylinder-test-due", Family::Unit, Level::Warning, include_str!("cylinder_test_due.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(context) {
        let Some(on) = &dive.plan.on else { continue };
        let Some(due) = &cylinder.thing.test_due else {
            sink.lacks(carried.name.place.clone(), format!("`test due=` of cylinder {:?}", cylinder.name.value));
            continue;
        };
        if due.value >= on.value {
            continue;
        }
        let message = said!(
            "the pressure test of cylinder {cylinder:?} was due on {due}: the dive is on {on}",
            cylinder = cylinder.name.value,
            due = due.value,
            on = on.value
        );
        let place = &due.place;
        let finding = of_cylinder(context, &dive, carried, RULE.finding(place.clone(), message), place, "the test");
        sink.find(finding.with_related(on.place.clone(), "the day of the dive"));
    }
}
