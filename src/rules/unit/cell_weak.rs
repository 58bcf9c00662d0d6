//! `cell-weak`: an oxygen cell gives much less in oxygen than when it was first logged.

use super::{of_unit, readings, taken};
use crate::findings::{Level, said};
use crate::physics::cells::WEAK_SHARE;
use crate::physics::tolerance;
use crate::plan::Reading;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cell-weak", Family::Unit, Level::Warning, include_str!("cell_weak.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        for cell in &unit.thing.cells {
            let read = readings(&dive, cell, Reading::oxygen_at_surface_mv);
            let [first, .., last] = read.as_slice() else { continue };
            let share = last.value / first.value;
            // A cell that was dead when it was first logged has no share.
            if !share.is_finite() || share >= WEAK_SHARE - tolerance::FRACTION {
                continue;
            }
            let (then, now) = (say::number(first.value), say::number(last.value));
            let message = said!(
                "cell {cell:?} of unit {unit:?} gives {now} mV in oxygen, {share} % of the {then} mV first logged: under {weak} % it is weak",
                cell = *cell.name,
                unit = unit.name.value,
                share = say::number(say::down(share * 100.0, 1.0)),
                weak = say::number(WEAK_SHARE * 100.0),
                now,
                then
            );
            let finding =
                of_unit(context, &dive, unit, RULE.finding(last.place.clone(), message), &last.place, "the reading");
            let finding = finding.with_related(first.place.clone(), "its first reading in oxygen");
            sink.find(finding.with_step("share = last/first", format!("{now}/{then}"), format!("{share:.4}")));
        }
    }
}
