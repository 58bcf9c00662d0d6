//! Cells whose readings in air and in oxygen lie on no line.

use super::{last_readings, named, of_unit, taken};
use crate::findings::{Level, Wording, said};
use crate::physics::cells::{LINEARITY_ERROR, LINEARITY_NOTE, OXYGEN_OVER_AIR, linearity};
use crate::rules::{Context, Rule, Sink, say};

/// Which way a cell is off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Off {
    /// It gives less in oxygen than its reading in air promises.
    Less,
    /// It gives more.
    More,
}

/// Finds every cell that is off one way, for a rule.
pub(super) fn each(context: &Context<'_>, sink: &mut Sink<'_>, rule: &Rule, way: Off) {
    // Readings are of a day, and a plan that says none has a rule of its own.
    for (dive, unit) in taken(context).into_iter().filter(|(dive, _)| dive.day().is_some()) {
        for cell in &unit.thing.cells {
            let Some((air, oxygen)) = last_readings(&dive, cell) else {
                let (cell, unit_name) = (&cell.name.value, &unit.name.value);
                let fact = format!("a `reading` in air and in oxygen of cell {cell:?} of unit {unit_name:?}");
                sink.lacks(named(&dive, unit).clone(), fact);
                continue;
            };
            let Some(off) = linearity(air.value, oxygen.value) else { continue };
            if off.abs() < LINEARITY_NOTE || (off < 0.0) != (way == Off::Less) {
                continue;
            }
            let promised = air.value * OXYGEN_OVER_AIR;
            let message = said!(
                "cell {cell:?} of unit {unit:?} gives {oxygen} mV in oxygen, {off} % {than} than the {promised} mV that its {air} mV in air promises",
                cell = *cell.name,
                unit = unit.name.value,
                oxygen = say::number(oxygen.value),
                off = say::number(say::up(off.abs() * 100.0, 0.1)),
                than = Wording(if way == Off::Less { "less" } else { "more" }),
                promised = say::number(say::up(promised, 0.1)),
                air = say::number(air.value)
            );
            let place = &oxygen.place;
            let mut finding = of_unit(context, &dive, unit, rule.finding(place.clone(), message), place, "the reading");
            if off.abs() < LINEARITY_ERROR {
                finding.level = Level::Note;
            }
            finding = finding.with_related(air.place.clone(), "its reading in air");
            sink.find(finding.with_step(
                "off = oxygen/air/4.773 − 1",
                format!("{}/{}/{OXYGEN_OVER_AIR:.4} − 1", oxygen.value, air.value),
                format!("{:.2} %", off * 100.0),
            ));
        }
    }
}
