//! `flight-too-soon`: the divers fly too soon after the dives.

use crate::findings::{Finding, Level, Wording, said};
use crate::forecast::{DAY_MIN, Part, Simulated, minute};
use crate::physics::pressure::surface_bar;
use crate::physics::roots;
use crate::physics::tolerance;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("flight-too-soon", Family::Exposure, Level::Error, include_str!("flight_too_soon.md"), look).safety();

/// Hours after one dive without stops (DAN 2002, from memory).
pub(crate) const ONE_DIVE_H: f64 = 12.0;
/// Hours after several (DAN 2002, from memory).
pub(crate) const SEVERAL_H: f64 = 18.0;
/// Hours after stops: "substantially longer than 18" (DAN 2002, from memory).
pub(crate) const WITH_STOPS_H: f64 = 24.0;
/// A cabin's greatest altitude, metres: 8000 ft.
const CABIN_M: f64 = 2438.4;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    let Some(flight) = &plan.flight else { return };
    let (Some(on), Some(at)) = (&flight.on, &flight.at) else { return };
    let flies_min = minute(Some(on.value), at.value);
    let timeline = context.timeline();
    let mut divers: Vec<Part<'_, '_>> = timeline.own_parts().collect();
    divers.sort_by_key(|part| part.name());
    divers.dedup_by_key(|part| part.name());
    let found = divers.into_iter().filter_map(|diver| {
        // What others' plans lack is said there.
        let lacks = |part: &Part<'_, '_>| part.timed.plan.file == plan.file && part.ends_min().is_none();
        if let Some(unknown) = timeline.of_diver(diver).find(lacks) {
            sink.lacks_all(unknown.timed.lacks());
            return None;
        }
        one(context, timeline.of_diver(diver).filter(|part| part.ends_min().is_some()).collect(), flies_min)
    });
    // The plan flies at once: whoever waits least is told of.
    if let Some((_, finding)) = found.max_by(|a, b| a.0.total_cmp(&b.0)) {
        sink.find(finding);
    }
}

/// How many hours one diver's wait is too short, and the finding of it. `dives` are all of the diver's that are known of and
/// when they end.
fn one<'a>(context: &Context<'a>, dives: Vec<Part<'_, 'a>>, flies_min: f64) -> Option<(f64, Finding)> {
    let flight = context.plan.and_then(|plan| plan.flight.as_ref())?;
    let before = dives.iter().filter(|part| part.timed.begins_min.is_some_and(|begins| begins < flies_min));
    let last = before.clone().max_by(|a, b| a.ends_min().unwrap_or(0.0).total_cmp(&b.ends_min().unwrap_or(0.0)))?;
    let ends_min = last.ends_min()?;
    let with_stops = before.clone().any(|part| part.has_stops() && ends_min - part.ends_min().unwrap_or(0.0) < DAY_MIN);
    let several = before.clone().any(|part| part.diver.dive.id() != last.diver.dive.id());
    let (wanted_h, why) = match (with_stops, several) {
        (true, _) => (WITH_STOPS_H, Wording("with stops")),
        (false, true) => (SEVERAL_H, Wording("of several")),
        (false, false) => (ONE_DIVE_H, Wording("without stops")),
    };
    let waits_h = (flies_min - ends_min) / 60.0;
    if waits_h >= wanted_h - tolerance::MINUTES {
        return None;
    }
    let dive = &last.diver.dive;
    let message = said!(
        "{diver} flies {waits} h after a dive {why}: {least} h are the least",
        diver = *dive.member.name,
        waits = say::number(say::down(waits_h.max(0.0), 0.1)),
        least = say::number(wanted_h),
        why
    );
    let mut finding = RULE.finding(flight.at.as_ref()?.place.clone(), message).with_about(dive.about());
    finding = finding.with_related(dive.dive.header.clone(), "the last dive").with_step(
        "surfacing",
        format!("{} min into dive {:?}", say::number(ends_min - last.timed.begins_min?), dive.dive.name.value),
        format!("{:.2} h of the day", ends_min.rem_euclid(DAY_MIN) / 60.0),
    );
    // Only this plan's own dives are run here with what those before have left.
    if let Some(hours) = context.simulate(dive).ok().and_then(|simulated| tissues_allow_h(&simulated)) {
        finding = finding.with_step(
            "the tissues bear 0.75 bar",
            "on air at the surface".to_owned(),
            format!("after {hours:.1} h"),
        );
    }
    Some((wanted_h - waits_h, finding))
}

/// After how many hours at the surface the tissues bear a cabin with the gradient high; `None` where they are not known.
fn tissues_allow_h(simulated: &Simulated<'_>) -> Option<f64> {
    let end = &simulated.ran.track.end;
    let home = &simulated.ran.dive.home;
    let (body, stops) = (end.exposure.body?, home.stops.filter(|_| !home.fewest_stops)?);
    let cabin = surface_bar(CABIN_M);
    let over = |hours: f64| {
        let rested = body.tissues.after_surface(end.water.surface_bar, hours * 60.0);
        rested.worst_bar(cabin, stops.gradients.high)
    };
    if over(0.0) <= 0.0 { Some(0.0) } else { roots::zero(0.0, 96.0, over) }
}
