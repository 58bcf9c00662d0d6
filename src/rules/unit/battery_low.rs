//! `battery-low`: a battery's last charge is under what it may dive with.

use super::{named, of_unit, taken};
use crate::findings::Level;
use crate::plan::as_of;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "battery-low",
    family: Family::Unit,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("battery_low.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, unit) in taken(look) {
        let Some(day) = dive.day() else { continue };
        for battery in &unit.thing.batteries {
            let whose = format!("battery {:?} of unit {:?}", *battery.name, unit.name.value);
            let charge = as_of(&battery.charges, day).and_then(|charge| charge.what.as_ref());
            let (Some(least), Some(charge)) = (&battery.least_percent, charge) else {
                let fact = if battery.least_percent.is_none() { "`least=`" } else { "a `charge` on or before the day" };
                out.lacks(named(&dive, unit).clone(), format!("{fact} of {whose}"));
                continue;
            };
            if charge.value < least.value {
                let message = format!(
                    "{whose} is at {} %, under the {} % it may dive with",
                    say::number(charge.value),
                    say::number(least.value)
                );
                let finding = RULE.finding(charge.place.clone(), message);
                let finding = of_unit(look, &dive, unit, finding, &charge.place, "the charge");
                out.find(finding.with_related(least.place.clone(), "the least charge"));
            }
        }
    }
}
