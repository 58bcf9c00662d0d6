//! `never-surfaces`: the way home does not end.

use crate::findings::{Finding, Level};
use crate::forecast::Simulated;
use crate::plan::Carried;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::run::{EventKind, Leg, Planned, Stuck, Track, Why, run};

/// The rule.
pub const RULE: Rule =
    Rule::new("never-surfaces", Family::Exposure, Level::Error, include_str!("never_surfaces.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety()
        .never_waived();

/// So long nobody waits, minutes: a day.
const WAITS_MIN: f64 = 1440.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_schedule(context, sink, Whose::All, one);
}

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let Some((track, stuck)) = simulated.ran.never_surfaces() else { return };
    let dive = &simulated.dive;
    let end = &track.end;
    let message = format!(
        "{} never surfaces: {}, {}",
        *dive.member.name,
        say::moment(end.t_min, end.depth_m().max(0.0)),
        why(simulated, track, stuck)
    );
    let leg = track.asked_at(end.t_min).and_then(|leg| dive.legs().get(leg));
    let empty = empty(simulated, track);
    let place = match (&empty, leg) {
        (Some((carried, _)), _) => &carried.name.place,
        (None, Some(leg)) => &leg.place,
        (None, None) => &dive.member.name.place,
    };
    let mut finding: Finding = RULE.finding(place.clone(), message).with_about(dive.about());
    if let Some(leg) = leg.filter(|leg| leg.place != *place) {
        finding = finding.with_related(leg.place.clone(), "the way home");
    }
    finding = finding.with_step(
        "what sums over the dive: gas, absorbent, batteries, oxygen clocks",
        format!("up to {}", say::run_time(end.t_min)),
        "has no end".to_owned(),
    );
    // One on which gas or oxygen runs short is no better.
    let shorter = fix::shorter_stay(context, simulated, &simulated.ran.high_feed_dive(), |_, track, _| {
        let short = |kind| matches!(kind, EventKind::CylinderEmpty(_) | EventKind::OxygenLow);
        !track.events.iter().any(|event| event.t_min >= 0.0 && short(event.kind))
    });
    finding.fixes.extend(shorter);
    sink.find(finding);
}

/// Why, in words: what holds the diver back, and the gas that is gone by then, or goes while the diver waits.
pub fn why(simulated: &Simulated<'_>, track: &Track, stuck: Stuck) -> String {
    let gas = empty(simulated, track).map_or_else(String::new, |(carried, t_min)| {
        let when = if t_min < 1e-9 { "from the start".to_owned() } else { say::into_the_dive(t_min) };
        format!("; {} {:?} is empty {when}", carried.role.value, carried.name.value)
    });
    match stuck {
        Stuck::StopsNeverEnd => format!("no stop of up to 24 hours lets the diver go on up{gas}"),
        Stuck::Bounded => format!("the dive is longer than any that is worked out{gas}"),
        Stuck::Nonsense => "what the plan then asks for can't be".to_owned(),
    }
}

/// The first cylinder that runs empty on a run, or where it ends while the diver waits, and when, minutes since leaving the
/// surface.
fn empty<'s>(simulated: &'s Simulated<'_>, track: &Track) -> Option<(&'s Carried, f64)> {
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
    let (cylinder, t_min) = first(track).or_else(waits)?;
    Some((*simulated.kit.get(cylinder)?, t_min))
}
