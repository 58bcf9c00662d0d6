//! `cell-unproven`: a cell is asked to show more oxygen than it was ever logged in.

use super::{named, of_unit, readings, taken};
use crate::findings::{Level, said};
use crate::forecast::dives::DiverDive;
use crate::physics::SetPoint;
use crate::physics::cells::AIR_O2;
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Cell};
use crate::rules::dives;
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::source::Placed;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cell-unproven", Family::Unit, Level::Note, include_str!("cell_unproven.md"), look).safety();

/// A cell may be asked for so much more than it was ever logged in, bar (common practice, no source).
const MARGIN_BAR: f64 = 0.2;

/// The greatest oxygen pressure that a dive's set-point asks a cell to show, bar, and where it is said.
fn asked<'a>(dive: &DiverDive<'a>) -> Option<(f64, &'a Placed<SetPoint>, &'a Placed<f64>)> {
    let (depth, point) = (dive.deepest()?, dive.set_point_at_depth()?);
    let po2_bar = match (dive.kind()?, point.value) {
        (ApparatusKind::SemiClosed, SetPoint::Fraction(o2)) => o2 * dive.water().pressure_bar(depth.value),
        (ApparatusKind::Closed, SetPoint::Bar(po2_bar)) => po2_bar,
        _ => return None,
    };
    Some((po2_bar, point, depth))
}

/// The greatest oxygen pressure that a cell was logged in by the day, bar; `None` where it was never logged.
fn proven(dive: &DiverDive<'_>, cell: &Cell) -> Option<f64> {
    let surface = dive.water().surface_bar;
    let day = dive.day()?;
    let by_day = cell.readings.iter().filter(|reading| reading.on.as_ref().is_some_and(|on| on.value <= day));
    let in_oxygen = by_day.filter(|reading| reading.what.oxygen_mv.is_some());
    let logged = in_oxygen.map(|reading| reading.what.oxygen_bar.as_ref().map_or(surface, |pressure| pressure.value));
    if let Some(greatest) = logged.max_by(f64::total_cmp) {
        return Some(greatest);
    }
    (!readings(dive, cell, |reading| &reading.air_mv).is_empty()).then_some(AIR_O2 * surface)
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (_, unit) in taken(context) {
        let of = |dive: &DiverDive<'_>| dive.unit().is_some_and(|other| other.name == unit.name);
        let dives = dives::all(context).into_iter().filter(of);
        let greatest = dives.filter_map(|dive| Some((dive, asked(&dive)?))).max_by(|a, b| a.1.0.total_cmp(&b.1.0));
        let Some((dive, (po2, point, depth))) = greatest else { continue };
        let known = unit.thing.cells.iter().filter_map(|cell| Some((cell, proven(&dive, cell)?)));
        let short: Vec<_> = known.filter(|(_, proven)| *proven < po2 - MARGIN_BAR - tolerance::PO2_BAR).collect();
        if short.is_empty() {
            continue;
        }
        let logged = short
            .iter()
            .map(|(cell, proven)| format!("{:?} in {} bar", *cell.name, say::number(say::down(*proven, 0.01))));
        let message = said!(
            "the set-point asks for {po2} bar of oxygen at {depth} m, more than cells of unit {unit:?} were ever logged in: {logged}",
            po2 = say::number(say::up(po2, 0.01)),
            depth = say::number(depth.value),
            unit = unit.name.value,
            logged = logged.collect::<Vec<_>>().join(", ")
        );
        let finding = RULE.finding(point.place.clone(), message);
        let mut finding = of_unit(context, &dive, unit, finding, &point.place, "the set-point");
        finding.related.retain(|related| related.place != *named(&dive, unit));
        finding = finding.with_related(depth.place.clone(), "the deepest place of the dive");
        sink.find(
            short.iter().fold(finding, |finding, (cell, _)| finding.with_related(cell.place.clone(), "the cell")),
        );
    }
}
