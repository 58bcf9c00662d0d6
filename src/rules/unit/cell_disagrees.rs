//! `cell-disagrees`: two oxygen cells of one unit show oxygen pressures too far apart.

use super::cells::is_off;
use super::{last_readings, of_unit, taken};
use crate::findings::{Level, said};
use crate::forecast::dives::DiverDive;
use crate::physics::cells::{AIR_O2, DISAGREE_BAR, po2_bar, sensitivity_mv_per_bar};
use crate::physics::tolerance;
use crate::plan::Cell;
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::source::Placed;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cell-disagrees", Family::Unit, Level::Error, include_str!("cell_disagrees.md"), look).safety();

/// What a cell that was set by its own reading in air shows in oxygen at the surface.
struct Shown<'a> {
    cell: &'a Cell,
    air: &'a Placed<f64>,
    oxygen: &'a Placed<f64>,
    po2_bar: f64,
}

fn shown<'a>(dive: &DiverDive<'_>, cell: &'a Cell) -> Option<Shown<'a>> {
    let (air, oxygen) = last_readings(dive, cell)?;
    let sensitivity = sensitivity_mv_per_bar(air.value, AIR_O2, dive.water().surface_bar)?;
    Some(Shown { cell, air, oxygen, po2_bar: po2_bar(oxygen.value, sensitivity)? })
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        // A cell that is itself out of bounds is the cause of whatever it disagrees with.
        let sound = unit.thing.cells.iter().filter(|cell| !is_off(&dive, cell));
        let mut shown: Vec<_> = sound.filter_map(|cell| shown(&dive, cell)).collect();
        shown.sort_by(|a, b| a.po2_bar.total_cmp(&b.po2_bar));
        let (Some(low), Some(high)) = (shown.first(), shown.last()) else { continue };
        let apart = high.po2_bar - low.po2_bar;
        if apart <= DISAGREE_BAR + tolerance::PO2_BAR {
            continue;
        }
        let message = said!(
            "cells {low_cell:?} and {high_cell:?} of unit {unit:?} show {low} and {high} bar in the same oxygen, more than {apart} bar apart: none tells \
             which is right",
            low_cell = *low.cell.name,
            high_cell = *high.cell.name,
            unit = unit.name.value,
            low = say::number(low.po2_bar),
            high = say::number(high.po2_bar),
            apart = say::number(DISAGREE_BAR)
        );
        let place = &low.oxygen.place;
        let mut finding =
            of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the lower reading");
        finding = finding.with_related(high.oxygen.place.clone(), "the higher reading");
        for cell in [low, high] {
            finding = finding.with_step(
                "PO2 = oxygen/air·0.2095·Ps",
                format!("{}/{}·{AIR_O2}·{:.4}", cell.oxygen.value, cell.air.value, dive.water().surface_bar),
                format!("{:.4} bar", cell.po2_bar),
            );
        }
        sink.find(finding);
    }
}
