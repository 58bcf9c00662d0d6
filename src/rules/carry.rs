//! What a diver, and a unit's absorbent, carry from the plan's earlier dives into a later one.

use super::Look;
use super::dives::OneDive;
use crate::run::{Exposure, Segment, Track, Why};

/// What is carried into a dive: the clocks and units of its diver, the absorbent used in its unit. `None` where an
/// earlier dive can't be run: the rules say so of that dive.
///
/// Of earlier dives the dive itself counts, not what would be dived instead; an interval that isn't said halves nothing.
pub fn into<'a>(look: &Look<'a>, dive: &OneDive<'a>) -> Option<Exposure> {
    let is_it = |first: &crate::plan::Dive| {
        std::iter::once(first).chain(&first.otherwise).any(|other| std::ptr::eq(other, dive.dive))
    };
    let this = dive.plan.dives.iter().position(is_it)?;
    let mut carried = Exposure::default();
    for (number, earlier) in dive.plan.dives.iter().enumerate().take(this) {
        for member in &earlier.divers {
            let same_diver = member.name.value == dive.member.name.value;
            let same_unit = member.unit.is_some() && member.unit == dive.member.unit;
            if !same_diver && !same_unit {
                continue;
            }
            let ran = look.simulate(&OneDive { plan: dive.plan, dive: earlier, member }).ok()?.ran;
            if same_diver {
                let took = ran.rich_mix().exposure();
                carried.clock += took.clock;
                carried.day += took.day;
                carried.units += took.units;
            }
            if same_unit {
                carried.absorbent_min += ran.track.exposure().absorbent_min;
            }
        }
        let interval = dive.plan.intervals_min.get(number).and_then(Option::as_ref);
        carried = carried.after_surface(interval.map_or(0.0, |minutes| minutes.value));
    }
    Some(carried)
}

/// The plan's leg that a run follows at a moment; where two legs meet, the one that led there.
pub fn leg_at(track: &Track, t_min: f64) -> Option<usize> {
    let at = |t_min: f64| {
        let leg = track.segment_at(t_min).or(track.segments.last())?.leg;
        match track.legs.get(leg)?.1.why {
            Why::Asked(number) => Some(number),
            _ => None,
        }
    };
    at(t_min - INSTANT_MIN).or_else(|| at(t_min))
}

/// So far before a moment it is still what led there, minutes.
const INSTANT_MIN: f64 = 1e-6;

/// The pieces of a run from leaving the surface on.
pub fn under_way(track: &Track) -> impl Iterator<Item = &Segment> {
    track.segments.iter().filter(|segment| segment.start.t_min >= -1e-9)
}
