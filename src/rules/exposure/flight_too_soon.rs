//! `flight-too-soon`: the divers fly too soon after the dives.

use crate::findings::{Finding, Level};
use crate::forecast::Simulated;
use crate::forecast::dives;
use crate::physics::pressure::surface_bar;
use crate::physics::roots;
use crate::physics::tolerance;
use crate::plan::Plan;
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
    let (Some(on), Some(at), Some(day)) = (&flight.on, &flight.at, &plan.on) else { return };
    let mut worst: Option<(f64, Finding)> = None;
    let last = plan.dives.len().saturating_sub(1);
    let Some(dive) = plan.dives.get(last) else { return };
    let Some(begins) = begins_min(plan) else {
        sink.lacks(dive.header.clone(), format!("`at=` of dive {:?}", dive.name.value));
        return;
    };
    let midnight = day.value.until(on.value).map_or(0, |span| span.get_days());
    let flies = f64::from(midnight) * 24.0 + f64::from(at.value.hour()) + f64::from(at.value.minute()) / 60.0;
    for one in dives::of_dive(plan, dive).filter(|one| std::ptr::eq(one.dive, dive)) {
        let Ok(simulated) = context.simulate(&one) else { continue };
        let ends = (begins + simulated.ran.track.end.t_min) / 60.0;
        let several =
            plan.dives.iter().filter(|dive| dive.divers.iter().any(|it| it.name.value == one.member.name.value));
        let stops = !simulated.ran.track.stops().is_empty();
        let (wanted, why) = match (stops, several.count() > 1) {
            (true, _) => (WITH_STOPS_H, "with stops"),
            (false, true) => (SEVERAL_H, "of several"),
            (false, false) => (ONE_DIVE_H, "without stops"),
        };
        let waits = flies - ends;
        if waits >= wanted - tolerance::MINUTES || worst.as_ref().is_some_and(|(known, _)| *known >= wanted - waits) {
            continue;
        }
        let message = format!(
            "{} flies {} h after a dive {why}: {} h are the least",
            *one.member.name,
            say::number(say::down(waits.max(0.0), 0.1)),
            say::number(wanted)
        );
        let mut finding = RULE.finding(at.place.clone(), message).with_about(one.about());
        finding = finding.with_related(dive.header.clone(), "the last dive").with_step(
            "surfacing",
            format!("{} min into dive {:?}", say::number(simulated.ran.track.end.t_min), dive.name.value),
            format!("{ends:.2} h of the day"),
        );
        if let Some(hours) = tissues_allow_h(&simulated) {
            finding = finding.with_step(
                "the tissues bear 0.75 bar",
                "on air at the surface".to_owned(),
                format!("after {hours:.1} h"),
            );
        }
        worst = Some((wanted - waits, finding));
    }
    if let Some((_, finding)) = worst {
        sink.find(finding);
    }
}

/// When the last dive begins, minutes of the plan's day: as it says, or as the dives before it, their runs and intervals do.
fn begins_min(plan: &Plan) -> Option<f64> {
    let last = plan.dives.last()?;
    last.at.as_ref().map(|at| f64::from(at.value.hour()) * 60.0 + f64::from(at.value.minute()))
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
