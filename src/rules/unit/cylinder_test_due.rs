//! `cylinder-test-due`: a cylinder is past its pressure test.

use crate::findings::Level;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "cylinder-test-due",
    family: Family::Unit,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("cylinder_test_due.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(look) {
        let Some(on) = &dive.plan.on else { continue };
        let Some(due) = &cylinder.thing.test_due else {
            out.lacks(carried.name.place.clone(), format!("`test due=` of cylinder {:?}", cylinder.name.value));
            continue;
        };
        if due.value >= on.value {
            continue;
        }
        let message = format!(
            "the pressure test of cylinder {:?} was due on {}: the dive is on {}",
            cylinder.name.value, due.value, on.value
        );
        let place = &due.place;
        let finding = of_cylinder(look, &dive, carried, RULE.finding(place.clone(), message), place, "the test");
        out.find(finding.with_related(on.place.clone(), "the day of the dive"));
    }
}
