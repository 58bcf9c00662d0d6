//! Why a way home does not end, in words.

use crate::findings::{Said, said};
use crate::forecast::Simulated;
use crate::plan::Carried;
use crate::rules::say;
use crate::run::{EventKind, Leg, Planned, Stuck, Track, Why, run};

/// Why, in words: what holds the diver back, and the gas that is gone by then, or goes while the diver waits.
pub(crate) fn why(simulated: &Simulated<'_>, track: &Track, stuck: Stuck) -> Said {
    let gas = empty(simulated, track).map_or_else(Said::default, |(carried, t_min)| {
        let when = if t_min < 1e-9 { said!("from the start") } else { say::into_the_dive(t_min) };
        said!("; {role} {cylinder:?} is empty {when}", role = carried.role.value, cylinder = carried.name.value, when)
    });
    if stuck == Stuck::NoGas
        && let Some((carried, _)) = empty(simulated, track)
    {
        return said!(
            "{role} {cylinder:?} is empty and there is nothing else to breathe",
            role = carried.role.value,
            cylinder = carried.name.value
        );
    }
    match stuck {
        Stuck::StopsNeverEnd => said!("no stop of up to 24 hours lets the diver go on up{gas}", gas),
        Stuck::Bounded => said!("the dive is longer than any that is worked out{gas}", gas),
        Stuck::NoGas => said!("there is nothing to breathe"),
        Stuck::Nonsense => said!("what the plan then asks for can't be"),
    }
}

/// The first cylinder that runs empty on a run, or where it ends while the diver waits, and when, minutes since leaving the
/// surface.
pub(crate) fn empty<'s>(simulated: &'s Simulated<'_>, track: &Track) -> Option<(&'s Carried, f64)> {
    let first = |track: &Track| {
        track.events.iter().find_map(|event| match event.kind {
            EventKind::CylinderEmpty(cylinder) => Some((cylinder, event.t_min)),
            _ => None,
        })
    };
    let waits = || {
        let (dive, end) = (&simulated.ran.dive, track.end.clone());
        let stop = [Leg::new(end.depth_m().max(0.0), WAITS_MIN, dive.home.ascent.work, Why::Stop)];
        first(&run(end, &mut Planned::new(&stop), &dive.sources(), &dive.limits))
    };
    let waits = || *simulated.ran.answer("emptied waiting", &[track.end.t_min, track.end.bar], waits);
    let (cylinder, t_min) = first(track).or_else(waits)?;
    Some((*simulated.kit.get(cylinder)?, t_min))
}

/// So long nobody waits, minutes: a day.
const WAITS_MIN: f64 = 1440.0;
