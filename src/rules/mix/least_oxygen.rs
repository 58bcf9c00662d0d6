//! The least oxygen that is breathed as planned: in the loop, and on a way up at once.

use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::run::{EventKind, Leg, Planned, Why, Work, run};
use crate::words::LimitName;

/// Whether a loop leaves the surface on too little oxygen for want of a pre-breathe.
pub(in crate::rules) fn unbreathed(simulated: &Simulated<'_>) -> bool {
    let (dive, start) = (&simulated.ran.dive, simulated.ran.track.start());
    let on_loop = dive.circuit.loop_l() > 0.0 && dive.pre_breathe_min <= 0.0;
    on_loop && start.breathed.o2 * start.bar < dive.limits.least_bar
}

/// The least oxygen pressure breathed as planned, bar, and its moment, where it is under the least that may be.
pub(in crate::rules) fn least_po2(simulated: &Simulated<'_>) -> Option<(f64, f64)> {
    let ran = &simulated.ran;
    let track = ran.low_feed();
    // A loop that was not breathed first starts on exhaled air, and another rule says so: from where it is rich enough.
    let from = match unbreathed(simulated) {
        true => track.first(EventKind::OxygenRegained)?.t_min,
        false => 0.0,
    };
    let (po2, at) = track.extremes(from, &ran.dive.limits)?.least_po2_bar;
    (po2 < ran.dive.limits.least_bar - tolerance::PO2_BAR).then_some((po2, at))
}

/// The least oxygen pressure on a way up at once from some moment, bar, with that moment and its depth.
pub(in crate::rules) fn least_going_up(simulated: &Simulated<'_>) -> Option<(f64, f64, f64)> {
    let rate = simulated.dive.plan.limits.value(LimitName::AscentRate);
    *simulated.ran.answer("least oxygen going up", &[rate], || going_up(simulated, rate))
}

fn going_up(simulated: &Simulated<'_>, rate: f64) -> Option<(f64, f64, f64)> {
    let track = simulated.ran.low_feed();
    let dive = simulated.ran.low_feed_dive();
    let sources = dive.sources();
    // On a leg the loop runs towards one end: the worst moments are where legs end, and where it is leanest.
    let ends = track.legs.iter().skip(1).map(|(begins, _)| *begins).chain([track.end.t_min]);
    let legs = track.legs.iter().zip(ends).map(|((_, leg), ends)| (ends, leg.work));
    let leanest = track.extremes(0.0, &dive.limits).map(|extremes| extremes.least_o2.1);
    let leanest = leanest.and_then(|at| Some((at, track.legs.get(track.segment_at(at)?.leg)?.1.work)));
    let up = |(t_min, work): (f64, Work)| {
        let from = track.at(t_min);
        let depth = from.depth_m();
        if t_min < 0.0 || depth <= 0.0 || from.source != 0 {
            return None;
        }
        let legs = [Leg::new(0.0, depth / rate, work, Why::WayHome)];
        let going = run(from, &mut Planned::new(&legs), &sources, &dive.limits);
        let (po2, _) = going.extremes(t_min, &dive.limits)?.least_po2_bar;
        Some((po2, t_min, depth))
    };
    legs.chain(leanest).filter_map(up).min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Whether a diver who goes up at once faints on the way.
pub(in crate::rules) fn faints(simulated: &Simulated<'_>) -> bool {
    least_going_up(simulated).is_some_and(|(po2, ..)| po2 < simulated.ran.dive.limits.faint_bar - tolerance::PO2_BAR)
}

/// The least oxygen in the loop as planned, a fraction, and its moment, where it is under the unit's floor. Of gas that
/// runs out another rule speaks.
pub(in crate::rules) fn least_in_loop(simulated: &Simulated<'_>) -> Option<(f64, f64)> {
    let (ran, track) = (&simulated.ran, simulated.ran.low_feed());
    let from = match unbreathed(simulated) {
        true => track.first(EventKind::FloorRegained)?.t_min,
        false => 0.0,
    };
    let (o2, at) = track.extremes(from, &ran.dive.limits)?.least_o2;
    let empty = track.events.iter().any(|event| matches!(event.kind, EventKind::CylinderEmpty(_)) && event.t_min <= at);
    (o2 < ran.dive.limits.floor_o2 - tolerance::FRACTION && !empty).then_some((o2, at))
}
