//! Rules about the breathing unit.

pub mod battery_low;
pub mod calibration_stale;
pub mod cell_current_limited;
pub mod cell_disagrees;
pub mod cell_expired;
pub mod cell_weak;
pub mod cells_same_age;
pub mod cells_too_few;

use std::sync::Arc;

use super::Look;
use super::dives::{self, OneDive, caused};
use crate::findings::Finding;
use crate::plan::{Cell, Defined, Maybe, Reading, Unit, UnitKind};
use crate::source::{Place, Placed};

/// Each unit that a plan takes, once, with the first dive that takes it.
pub fn taken<'a>(look: &Look<'a>) -> Vec<(OneDive<'a>, &'a Arc<Defined<Unit>>)> {
    let mut taken: Vec<(OneDive<'a>, &Arc<Defined<Unit>>)> = Vec::new();
    for dive in dives::all(look) {
        if let Some(unit) = &dive.member.unit
            && !taken.iter().any(|(_, other)| other.name == unit.name)
        {
            taken.push((dive, unit));
        }
    }
    taken
}

/// Where the plan names a unit that a diver takes.
pub fn named<'a>(dive: &OneDive<'a>, unit: &'a Defined<Unit>) -> &'a Place {
    dive.member.unit_name.as_ref().map_or(&unit.name.place, |name| &name.place)
}

/// A finding about a unit, caused by `cause`: it is no diver's own and is said once for the plan.
pub fn of_unit<'a>(
    look: &Look<'_>,
    dive: &OneDive<'a>,
    unit: &'a Defined<Unit>,
    finding: Finding,
    cause: &Place,
    what: &str,
) -> Finding {
    let mut finding = caused(look, finding, cause, named(dive, unit), what).with_about(dive.about());
    (finding.about.dive, finding.about.diver) = (None, None);
    finding
}

/// Whether a unit is a loop; one that doesn't say its kind has a rule of its own.
pub fn is_loop(unit: &Unit) -> bool {
    unit.kind.as_ref().is_some_and(|kind| kind.value != UnitKind::Open)
}

/// A cell's readings of one kind on or before a plan's day, in the order of their days.
pub fn readings<'a>(dive: &OneDive<'_>, cell: &'a Cell, of: fn(&Reading) -> &Maybe<f64>) -> Vec<&'a Placed<f64>> {
    let Some(day) = dive.day() else { return Vec::new() };
    let read =
        cell.readings.iter().filter_map(|reading| Some((reading.on.as_ref()?.value, of(&reading.what).as_ref()?)));
    let mut read: Vec<_> = read.filter(|(on, _)| *on <= day).collect();
    read.sort_by_key(|(on, _)| *on);
    read.into_iter().map(|(_, value)| value).collect()
}

/// A cell's last readings in air and in oxygen on or before a plan's day, where it was read in both.
pub fn last_readings<'a>(dive: &OneDive<'_>, cell: &'a Cell) -> Option<(&'a Placed<f64>, &'a Placed<f64>)> {
    let air = readings(dive, cell, |reading| &reading.air_mv).pop()?;
    let oxygen = readings(dive, cell, |reading| &reading.oxygen_mv).pop()?;
    Some((air, oxygen))
}
