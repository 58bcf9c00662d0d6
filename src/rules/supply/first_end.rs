//! When what a diver lives on ends as planned: the cylinders that are breathed from, and the unit's batteries.

use super::endurance::{Ends, ends};
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Battery, Role, as_of};
use crate::run::Cylinder;

/// The cylinders that the diver lives on as planned: what is breathed from, or what feeds the loop.
pub(in crate::rules) fn feeding<'s>(simulated: &'s Simulated<'_>) -> impl Iterator<Item = usize> + 's {
    let kind = simulated.dive.kind().unwrap_or(ApparatusKind::Open);
    Role::feeding(kind).iter().filter_map(|role| simulated.of_role(*role))
}

/// When a cylinder ends in the run of a dive's.
pub(in crate::rules) fn ends_in(simulated: &Simulated<'_>, cylinder: usize) -> Option<Ends> {
    let ran = &simulated.ran;
    let work = || {
        let dive = ran.high_feed_dive();
        // What feeds a loop keeps its reserve, and what is breathed straight does.
        let kept_l = dive.cylinders.get(cylinder)?.reserve_l;
        ends(&dive, ran.high_feed(), cylinder, kept_l, ran.escapes())
    };
    (*ran.answer("when a cylinder ends", &[cylinder as f64], work)).clone()
}

/// The first moment at which a cylinder that the diver lives on ends as planned.
pub(in crate::rules) fn first_end(simulated: &Simulated<'_>) -> Option<(usize, Ends)> {
    let ends = feeding(simulated).filter_map(|cylinder| Some((cylinder, ends_in(simulated, cylinder)?)));
    ends.min_by(|a, b| a.1.t_min.total_cmp(&b.1.t_min))
}

/// A cylinder that the diver lives on and that is empty before the dive begins, by what dives before it took, so that the
/// diver does not come back: that alone is told of such a dive.
pub(in crate::rules) fn emptied_before(simulated: &Simulated<'_>) -> Option<usize> {
    let ran = &simulated.ran;
    ran.never_surfaces()?;
    feeding(simulated).find(|cylinder| {
        let held = ran.dive.cylinders.get(*cylinder);
        let filled_l = held.and_then(|held| Some(Cylinder::new(held.filled)?.full_l - held.unusable_l));
        !ran.track.start().gives(*cylinder) && filled_l.is_some_and(|litres| litres > tolerance::LITRES)
    })
}

/// The batteries of the diver's unit that say how long they last when full, each with the minutes that earlier dives of the
/// day leave of what its charge lasts; `None` where there is no such charge.
pub(in crate::rules) fn batteries<'a>(simulated: &Simulated<'a>) -> Vec<(&'a Battery, Option<f64>)> {
    let dive = &simulated.dive;
    let (Some(unit), Some(day)) = (dive.unit(), dive.day()) else { return Vec::new() };
    let lasts = |battery: &'a Battery| {
        let full = battery.lasts_min.as_ref()?.value;
        let charge = as_of(&battery.charges, day).and_then(|charge| charge.what.as_ref());
        Some((battery, charge.map(|charge| (full * charge.value / 100.0 - simulated.unit_min).max(0.0))))
    };
    unit.thing.batteries.iter().filter_map(lasts).collect()
}
