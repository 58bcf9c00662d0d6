//! `way-in-long`: the way in takes more of the gas than the limits leave for it.

use crate::findings::{Level, said};
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, dives, say};
use crate::run::{Purpose, Track, Way, Why};
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("way-in-long", Family::Supply, Level::Error, include_str!("way_in_long.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, one);
}

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let dive = &simulated.dive;
    let Some(share) = dive.plan.limits.set(LimitName::ExitShare) else { return };
    let track = &simulated.ran.track;
    // Gas for the stops is for nothing on the way out to them.
    let counts = |cylinder: &usize| {
        track.used_l(*cylinder, Purpose::OpenCircuit) > 0.0 && !simulated.ran.dive.home.deco.contains(cylinder)
    };
    let breathed: Vec<usize> = (0..simulated.kit.len()).filter(counts).collect();
    let held = |t_min: Option<f64>| -> f64 {
        let state = t_min.map_or_else(|| track.start().clone(), |t_min| track.at(t_min));
        breathed.iter().filter_map(|cylinder| state.litres.get(*cylinder)).sum()
    };
    let full_l = held(None);
    let taken = |t_min: &f64| (full_l - held(Some(*t_min))) / full_l;
    let farthest = farthest(track).into_iter().map(|(t_min, why)| (taken(&t_min), t_min, why));
    let Some((took, t_min, why)) = farthest.max_by(|a, b| a.0.total_cmp(&b.0)) else { return };
    if full_l <= 0.0 || took * 100.0 <= share.value + tolerance::FRACTION {
        return;
    }
    let Some(leg) = (match why {
        Why::Asked(number) => dive.legs().get(number),
        _ => None,
    }) else {
        return;
    };
    let message = said!(
        "{diver} has breathed {took} % of the gas where the way in ends, {moment}: {share} % are for going in",
        diver = *dive.member.name,
        took = say::number(say::up(took * 100.0, 1.0)),
        moment = say::moment(t_min, track.depth_at(t_min)),
        share = say::number(share.value)
    );
    let place = leg.way.as_ref().map_or(&leg.place, |way| &way.place);
    let finding = RULE.finding(place.clone(), message).with_about(dive.about());
    let mut finding = dives::said_at(context, dive.plan, finding, place);
    finding = finding.with_related(share.place.clone(), "the limit");
    sink.find(finding.with_step(
        "share = breathed/held at the start",
        format!("{:.1}/{full_l:.1} free L", took * full_l),
        format!("{:.2} %", took * 100.0),
    ));
}

/// Where ways in end: when, minutes since leaving the surface, and which leg it is.
fn farthest(track: &Track) -> Vec<(f64, Why)> {
    let ends = |number: usize| track.legs.get(number + 1).map_or(track.end.t_min, |(begins, _)| *begins);
    let goes_on = |number: usize| {
        let next = track.legs.iter().skip(number + 1).find_map(|(_, leg)| leg.way);
        matches!(next, Some(Way::In(_)))
    };
    let legs = track
        .legs
        .iter()
        .enumerate()
        .filter(|(number, (_, leg))| matches!(leg.way, Some(Way::In(_))) && !goes_on(*number));
    legs.map(|(number, (_, leg))| (ends(number), leg.why)).collect()
}
