//! `cell-expired`: an oxygen cell is older than its maker, or its making, allows on the day of the dive.

use super::cells::ends;
use super::{named, of_unit, taken};
use crate::findings::{Level, said};
use crate::plan::ApparatusKind;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cell-expired", Family::Unit, Level::Error, include_str!("cell_expired.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(day) = dive.day() else { continue };
        if unit.thing.kind.as_ref().is_none_or(|kind| kind.value == ApparatusKind::Open) {
            continue;
        }
        for cell in &unit.thing.cells {
            let whose = said!("cell {cell:?} of unit {unit:?}", cell = *cell.name, unit = unit.name.value);
            match ends(cell) {
                None => sink.lacks(named(&dive, unit).clone(), format!("`fitted=` and `life=` of {whose}")),
                Some((end, why, place)) if end < day => {
                    let message = said!("{whose} ended on {end}, {why}: the dive is on {day}", whose, end, why, day);
                    let finding = RULE.finding(place.clone(), message);
                    let mut finding = of_unit(context, &dive, unit, finding, place, "the cell");
                    if let Some(on) = &dive.plan.on {
                        finding = finding.with_related(on.place.clone(), "the day of the dive");
                    }
                    sink.find(finding.with_step("end = start + life", why, end.to_string()));
                }
                Some(_) => {}
            }
        }
    }
}
