//! `cells-too-few`: a loop has fewer oxygen cells than its kind needs.

use super::{of_unit, taken};
use crate::findings::Level;
use crate::plan::{Status, UnitKind};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "cells-too-few",
    family: Family::Unit,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("cells_too_few.md"),
    look,
};

/// The fewest cells that a kind of apparatus dives with (common practice, no source).
fn fewest(kind: UnitKind) -> usize {
    match kind {
        UnitKind::Closed => 3,
        UnitKind::SemiClosed => 1,
        UnitKind::Passive | UnitKind::Open => 0,
    }
}

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, unit) in taken(look) {
        let Some(kind) = &unit.thing.kind else { continue };
        let (needed, has) = (fewest(kind.value), unit.thing.cells.len());
        // A unit of which no cell is written may still have them: only a plan that claims to be ready is held to it.
        if has >= needed || (has == 0 && dive.plan.status != Status::Ready) {
            continue;
        }
        let cells = if needed == 1 { "cell" } else { "cells" };
        let has = if has == 0 {
            "none is".to_owned()
        } else {
            format!("only {has} of them {}", if has == 1 { "is" } else { "are" })
        };
        let sort = if kind.value == UnitKind::Closed { "closed" } else { "semi-closed" };
        let message = format!("unit {:?} is {sort} and needs {needed} oxygen {cells}: {has} written", unit.name.value);
        let cause = &unit.name.place;
        let finding = of_unit(look, &dive, unit, RULE.finding(cause.clone(), message), cause, "the unit");
        out.find(finding.with_related(kind.place.clone(), "its kind"));
    }
}
