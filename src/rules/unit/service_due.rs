//! `service-due`: a unit is past its service.

use super::{is_loop, named, of_unit, taken};
use crate::findings::Level;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "service-due",
    family: Family::Unit,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("service_due.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, unit) in taken(look) {
        let Some(on) = &dive.plan.on else { continue };
        let Some(due) = &unit.thing.service_due else {
            if is_loop(&unit.thing) {
                out.lacks(named(&dive, unit).clone(), format!("`service due=` of unit {:?}", unit.name.value));
            }
            continue;
        };
        if due.value >= on.value {
            continue;
        }
        let message =
            format!("the service of unit {:?} was due on {}: the dive is on {}", unit.name.value, due.value, on.value);
        let place = &due.place;
        let finding = of_unit(look, &dive, unit, RULE.finding(place.clone(), message), place, "the service");
        out.find(finding.with_related(on.place.clone(), "the day of the dive"));
    }
}
