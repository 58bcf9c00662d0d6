//! Rules about the breathing unit.

pub(crate) mod absorbent_old;
pub(crate) mod absorbent_order;
pub(crate) mod absorbent_rating_implausible;
pub(crate) mod absorbent_short;
pub(crate) mod battery_low;
pub(crate) mod calibration_stale;
pub(crate) mod cell_current_limited;
pub(crate) mod cell_disagrees;
pub(crate) mod cell_expired;
pub(crate) mod cell_high;
pub(crate) mod cell_unproven;
pub(crate) mod cell_weak;
pub(crate) mod cells;
pub(crate) mod cells_same_age;
pub(crate) mod cells_too_few;
pub(crate) mod cold_outside_unit;
pub(crate) mod cylinder_test_due;
pub(crate) mod feed_flow_off;
pub(crate) mod feed_flow_unmeasured;
mod linearity;
pub(crate) mod oxygen_clean_due;
pub(crate) mod pre_breathe_missing;
pub(crate) mod service_due;
pub(crate) mod unit_incomplete;

use std::sync::Arc;

use jiff::civil::Date;

use super::Context;
use crate::findings::Finding;
use crate::forecast::Missing;
use crate::forecast::dives::DiverDive;
use crate::plan::{self, Apparatus, ApparatusKind, Cell, Dated, Defined, Maybe, NameUse, Reading, as_of};
use crate::rules::dives::{self, caused};
use crate::source::{Place, Placed};

/// Each unit that a plan takes, once, with the first dive that takes it.
pub(crate) fn taken<'a>(context: &Context<'a>) -> Vec<(DiverDive<'a>, &'a Arc<Defined<Apparatus>>)> {
    let mut taken: Vec<(DiverDive<'a>, &Arc<Defined<Apparatus>>)> = Vec::new();
    for dive in dives::all(context) {
        if let Some(unit) = &dive.member.unit
            && !taken.iter().any(|(_, other)| other.name == unit.name)
        {
            taken.push((dive, unit));
        }
    }
    taken
}

/// A canister of absorbent in its place in a unit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PackedCanister<'a> {
    /// The name that the unit says.
    pub name: &'a NameUse,
    /// Its place in the order that gas passes them: 0 for the first.
    pub order: usize,
    /// Whether it takes the first one's place when that is spent.
    pub moves_up: bool,
    /// The last day on or before the plan's on which it was packed.
    pub packed: &'a Placed<Date>,
    /// The first and the last word on the minutes it was used for since then; none for a fresh one.
    pub used: Option<(&'a Dated<Maybe<f64>>, &'a Placed<f64>)>,
}

impl PackedCanister<'_> {
    /// Minutes used since it was packed.
    pub(crate) fn used_min(&self) -> f64 {
        self.used.map_or(0.0, |(_, minutes)| minutes.value)
    }
}

/// A unit's canisters in the order that gas passes them, as far as they are named; each `Err` is the fact that one
/// lacks. A name that nothing defines has a rule of its own.
pub(crate) fn packed_canisters<'a>(
    context: &Context<'a>,
    dive: &DiverDive<'_>,
    unit: &'a Apparatus,
) -> Vec<Result<PackedCanister<'a>, Missing>> {
    let Some(day) = dive.day() else { return Vec::new() };
    let bed = |(order, bed): (usize, &'a plan::Bed)| {
        let (name, moves_up) = (&bed.canister, bed.moves_up);
        let canister = context.scope.canisters.get(&name.value)?;
        let Some(packed) = as_of(&canister.thing.packed, day).and_then(|packed| packed.on.as_ref()) else {
            let fact = format!("a `packed` on or before the day of canister {:?}", name.value);
            return Some(Err(Missing::new(&name.place, fact)));
        };
        let since = |used: &&Dated<Maybe<f64>>| {
            used.on.as_ref().is_some_and(|on| (packed.value..=day).contains(&on.value))
                && used.what.as_ref().is_some_and(|minutes| minutes.value > 0.0)
        };
        let by_day = |used: &&Dated<Maybe<f64>>| used.on.as_ref().map(|on| on.value);
        let used = || canister.thing.used.iter().filter(since);
        let used = used().min_by_key(by_day).zip(used().max_by_key(by_day).and_then(|used| used.what.as_ref()));
        Some(Ok(PackedCanister { name, order, moves_up, packed, used }))
    };
    unit.beds.iter().enumerate().filter_map(bed).collect()
}

/// Where the plan names a unit that a diver takes.
pub(crate) fn named<'a>(dive: &DiverDive<'a>, unit: &'a Defined<Apparatus>) -> &'a Place {
    dive.member.unit_name.as_ref().map_or(&unit.name.place, |name| &name.place)
}

/// A finding about a unit, caused by `cause`: it is no diver's own and is said once for the plan.
pub(crate) fn of_unit<'a>(
    context: &Context<'_>,
    dive: &DiverDive<'a>,
    unit: &'a Defined<Apparatus>,
    finding: Finding,
    cause: &Place,
    what: &str,
) -> Finding {
    let mut finding = caused(context, finding, cause, named(dive, unit), what).with_about(dive.about());
    (finding.about.dive, finding.about.diver) = (None, None);
    finding
}

/// Whether a unit is a loop; one that doesn't say its kind has a rule of its own.
pub(crate) fn is_loop(unit: &Apparatus) -> bool {
    unit.kind.as_ref().is_some_and(|kind| kind.value != ApparatusKind::Open)
}

/// A cell's readings of one kind on or before a plan's day, in the order of their days.
pub(crate) fn readings<'a>(
    dive: &DiverDive<'_>,
    cell: &'a Cell,
    of: fn(&Reading) -> &Maybe<f64>,
) -> Vec<&'a Placed<f64>> {
    let Some(day) = dive.day() else { return Vec::new() };
    let read =
        cell.readings.iter().filter_map(|reading| Some((reading.on.as_ref()?.value, of(&reading.what).as_ref()?)));
    let mut read: Vec<_> = read.filter(|(on, _)| *on <= day).collect();
    read.sort_by_key(|(on, _)| *on);
    read.into_iter().map(|(_, value)| value).collect()
}

/// A cell's last readings in air and in oxygen on or before a plan's day, where it was read in both.
pub(crate) fn last_readings<'a>(dive: &DiverDive<'_>, cell: &'a Cell) -> Option<(&'a Placed<f64>, &'a Placed<f64>)> {
    let air = readings(dive, cell, |reading| &reading.air_mv).pop()?;
    let oxygen = readings(dive, cell, Reading::oxygen_at_surface_mv).pop()?;
    Some((air, oxygen))
}
