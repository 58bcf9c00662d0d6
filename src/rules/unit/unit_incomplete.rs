//! `unit-incomplete`: a unit is written without a part that its kind can't dive without.

use super::{of_unit, taken};
use crate::findings::Level;
use crate::plan::{Unit, UnitKind};
use crate::rules::{Family, Look, Mends, Out, READY, Rule};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "unit-incomplete",
    family: Family::Unit,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: READY,
    page: include_str!("unit_incomplete.md"),
    look,
};

/// The parts that nothing is written of.
fn missing(unit: &Unit, kind: UnitKind) -> Vec<&'static str> {
    let controller = kind == UnitKind::Closed || unit.feed_controlled_lpm.as_ref().is_some_and(|feed| feed.value > 0.0);
    let parts = [
        ("its absorbent (`bed`)", unit.beds.is_empty()),
        ("the battery of its controller (`battery`)", controller && unit.batteries.is_empty()),
        ("what its mouthpiece gives when the lever is thrown (`mouthpiece`)", unit.mouthpiece.is_none()),
    ];
    parts.into_iter().filter(|(_, missing)| *missing).map(|(part, _)| part).collect()
}

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, unit) in taken(look) {
        let Some(kind) = unit.thing.kind.as_ref().map(|kind| kind.value).filter(|kind| *kind != UnitKind::Open) else {
            continue;
        };
        let missing = missing(&unit.thing, kind);
        if missing.is_empty() {
            continue;
        }
        let message = format!("nothing is written of unit {:?} about {}", unit.name.value, missing.join(", "));
        let cause = &unit.name.place;
        out.find(of_unit(look, &dive, unit, RULE.finding(cause.clone(), message), cause, "the unit"));
    }
}
