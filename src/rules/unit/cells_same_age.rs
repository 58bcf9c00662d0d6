//! `cells-same-age`: oxygen cells of one unit are of one age.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{of_unit, taken};
use crate::findings::{Level, Named, said};
use crate::plan::Cell;
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::Placed;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cells-same-age", Family::Unit, Level::Note, include_str!("cells_same_age.md"), look).safety();

/// A cell and the day that its age counts from.
type Born<'a> = (&'a Cell, &'a Placed<Date>);

/// The day that a cell's age counts from: its making where that is known, else its fitting.
fn born(cell: &Cell) -> Option<(&Placed<Date>, &'static str)> {
    let made = cell.made.as_ref().map(|made| (made, "made"));
    made.or_else(|| cell.fitted.as_ref().map(|fitted| (fitted, "fitted")))
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let mut by_day: BTreeMap<(Date, &str), Vec<Born<'_>>> = BTreeMap::new();
        for cell in &unit.thing.cells {
            if let Some((day, how)) = born(cell) {
                by_day.entry((day.value, how)).or_default().push((cell, day));
            }
        }
        for ((day, how), cells) in by_day {
            let [(_, first), others @ ..] = cells.as_slice() else { continue };
            if others.is_empty() {
                continue;
            }
            let names: Vec<_> = cells.iter().map(|(cell, _)| cell.name.value.clone()).collect();
            let message = said!(
                "cells {cells} of unit {unit:?} were all {how} on {day}: they may fail together",
                cells = Named::quoted(names),
                unit = unit.name.value,
                how,
                day
            );
            let finding = RULE.finding(first.place.clone(), message);
            let finding = of_unit(context, &dive, unit, finding, &first.place, "the first of them");
            sink.find(
                others
                    .iter()
                    .fold(finding, |finding, (_, day)| finding.with_related(day.place.clone(), "the same day")),
            );
        }
    }
}
