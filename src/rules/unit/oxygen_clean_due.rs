//! `oxygen-clean-due`: a cylinder with rich gas is past its cleaning for oxygen service.

use crate::findings::Level;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "oxygen-clean-due",
    family: Family::Unit,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("oxygen_clean_due.md"),
    look,
};

/// Percent of oxygen above which a cylinder must be clean for oxygen service (common practice, no source).
const RICH_PERCENT: f64 = 40.0;

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(look) {
        let Some(on) = &dive.plan.on else { continue };
        let gas = match dive.gas(carried) {
            Ok(gas) => gas,
            Err(missing) => {
                if let Some((place, fact)) = missing {
                    out.lacks(place, fact);
                }
                continue;
            }
        };
        if gas.rich.o2_percent <= RICH_PERCENT {
            continue;
        }
        let Some(due) = &cylinder.thing.clean_due else {
            out.lacks(carried.name.place.clone(), format!("`clean due=` of cylinder {:?}", cylinder.name.value));
            continue;
        };
        if due.value >= on.value {
            continue;
        }
        let message = format!(
            "cylinder {:?} holds {} % oxygen and was due for oxygen cleaning on {}: the dive is on {}",
            cylinder.name.value,
            say::number(gas.rich.o2_percent),
            due.value,
            on.value
        );
        let place = &due.place;
        let finding = of_cylinder(look, &dive, carried, RULE.finding(place.clone(), message), place, "the cleaning");
        out.find(
            finding
                .with_related(gas.rich.place.clone(), "the mix")
                .with_related(on.place.clone(), "the day of the dive"),
        );
    }
}
