//! `cells-too-few`: a loop has fewer oxygen cells than its kind needs.

use super::{of_unit, taken};
use crate::findings::{Level, Wording, said};
use crate::plan::{Apparatus, ApparatusKind, Status};
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cells-too-few", Family::Unit, Level::Error, include_str!("cells_too_few.md"), look).safety();

/// The fewest cells that a kind of apparatus dives with (common practice, no source).
fn fewest(kind: ApparatusKind, unit: &Apparatus) -> usize {
    match kind {
        ApparatusKind::Closed => 3,
        // A controller that feeds the loop is watched by a second cell.
        ApparatusKind::SemiClosed if unit.feed_controlled_lpm.as_ref().is_some_and(|feed| feed.value > 0.0) => 2,
        ApparatusKind::SemiClosed => 1,
        ApparatusKind::Passive | ApparatusKind::Open => 0,
    }
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(kind) = &unit.thing.kind else { continue };
        let (needed, has) = (fewest(kind.value, &unit.thing), unit.thing.cells.len());
        // A unit of which no cell is written may still have them: only a plan that claims to be ready is held to it.
        if has >= needed || (has == 0 && dive.plan.status != Status::Ready) {
            continue;
        }
        let cells = Wording(if needed == 1 { "cell" } else { "cells" });
        let has = if has == 0 {
            said!("none is").with("has", has)
        } else {
            said!("only {has} of them {verb}", verb = Wording(if has == 1 { "is" } else { "are" }), has)
        };
        let sort = Wording(if kind.value == ApparatusKind::Closed { "closed" } else { "semi-closed" });
        let message = said!(
            "unit {unit:?} is {sort} and needs {needed} oxygen {cells}: {has} written",
            unit = unit.name.value,
            sort,
            needed,
            cells,
            has
        );
        let cause = &unit.name.place;
        let finding = of_unit(context, &dive, unit, RULE.finding(cause.clone(), message), cause, "the unit");
        sink.find(finding.with_related(kind.place.clone(), "its kind"));
    }
}
