//! `never-surfaces`: the way home does not end.

use super::stuck::{empty, why};
use crate::findings::{Finding, Level, said};
use crate::forecast::Simulated;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::supply::first_end::emptied_before;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::run::{EventKind, Stuck};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("never-surfaces", Family::Exposure, Level::Error, include_str!("never_surfaces.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety()
        .never_waived();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_schedule(context, sink, Whose::All, one);
}

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let Some((track, stuck, t_min)) = simulated.ran.never_surfaces() else { return };
    let dive = &simulated.dive;
    let end = track.at(t_min);
    if let Some(carried) = emptied_before(simulated).and_then(|cylinder| simulated.kit.get(cylinder)) {
        let message = said!(
            "{diver} never surfaces: {role} {cylinder:?} is empty before the dive begins, by what dives before it take",
            diver = *dive.member.name,
            role = carried.role.value,
            cylinder = carried.name.value
        );
        sink.find(RULE.finding(carried.name.place.clone(), message).with_about(dive.about()));
        return;
    }
    let message = said!(
        "{diver} never surfaces: {moment}, {why}",
        diver = *dive.member.name,
        moment = say::moment(t_min, end.depth_m().max(0.0)),
        why = why(simulated, track, stuck)
    );
    let leg = track.asked_at(t_min).and_then(|leg| dive.legs().get(leg));
    let empty = empty(simulated, track);
    let place = match (&empty, leg) {
        (Some((carried, _)), _) => &carried.name.place,
        (None, Some(leg)) => &leg.place,
        (None, None) => &dive.member.name.place,
    };
    let mut finding: Finding = RULE.finding(place.clone(), message).with_about(dive.about());
    if let Some(leg) = leg.filter(|leg| leg.place != *place) {
        let here = if stuck == Stuck::NoGas { "here it is empty" } else { "the way home" };
        finding = finding.with_related(leg.place.clone(), here);
    }
    if stuck != Stuck::NoGas {
        finding = finding.with_step(
            "what sums over the dive: gas, absorbent, batteries, oxygen clocks",
            format!("up to {}", say::run_time(t_min)),
            "has no end".to_owned(),
        );
    }
    // One on which gas or oxygen runs short is no better.
    let shorter = fix::shorter_stay(context, simulated, &simulated.ran.high_feed_dive(), |_, track, _| {
        let short = |kind| matches!(kind, EventKind::CylinderEmpty(_) | EventKind::OxygenLow);
        !track.events.iter().any(|event| event.t_min >= 0.0 && short(event.kind))
    });
    finding.fixes.extend(shorter);
    sink.find(finding);
}
