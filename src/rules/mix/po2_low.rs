//! `po2-low`: what is breathed as planned has too little oxygen.

use crate::findings::Level;
use crate::forecast::Simulated;
use crate::rules::limits;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::run::EventKind;

/// The rule.
pub const RULE: Rule =
    Rule::new("po2-low", Family::Mix, Level::Error, include_str!("po2_low.md"), look).never_waived().safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, one);
}

/// Whether a loop leaves the surface on too little oxygen for want of a pre-breathe.
pub fn unbreathed(simulated: &Simulated<'_>) -> bool {
    let (dive, start) = (&simulated.ran.dive, simulated.ran.track.start());
    let on_loop = dive.circuit.loop_l() > 0.0 && dive.pre_breathe_min <= 0.0;
    on_loop && start.breathed.o2 * start.bar < dive.limits.least_bar
}

/// The least oxygen pressure breathed as planned, bar, and its moment, where it is under the least that may be.
pub fn least(simulated: &Simulated<'_>) -> Option<(f64, f64)> {
    let ran = &simulated.ran;
    let track = ran.low_feed();
    // A loop that was not breathed first starts on exhaled air, and another rule says so: from where it is rich enough.
    let from = match unbreathed(simulated) {
        true => track.first(EventKind::OxygenRegained)?.t_min,
        false => 0.0,
    };
    let (po2, at) = track.extremes(from, &ran.dive.limits)?.least_po2_bar;
    (po2 < ran.dive.limits.least_bar - 1e-9).then_some((po2, at))
}

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let Some((po2, at)) = least(simulated) else { return };
    let dive = &simulated.dive;
    let state = simulated.ran.low_feed().at(at);
    let limit = limits::or_usual(context, dive.plan, |limits| &limits.po2_least, simulated.ran.dive.limits.least_bar);
    let message = format!(
        "{} breathes {} bar of oxygen {}: under {} bar a diver faints without warning",
        *dive.member.name,
        say::po2_had(po2),
        say::moment(at, state.depth_m()),
        say::number(limit.value),
    );
    let cause = dive.main_gas().map_or(&dive.member.name.place, |carried| &carried.name.place);
    let mut finding = RULE.finding(cause.clone(), message).with_about(dive.about());
    if let Some(leg) = simulated.ran.low_feed().asked_at(at).and_then(|leg| dive.legs().get(leg)) {
        finding = finding.with_related(leg.place.clone(), "here it is least");
    }
    if let Some(gas) = dive.main_gas().and_then(|carried| dive.gas(carried).ok()) {
        finding = finding.with_related(gas.lean.place.clone(), "the mix");
    }
    if let Some(place) = limit.place {
        finding = finding.with_related(place, "the limit");
    }
    let o2 = po2 / state.bar;
    sink.find(finding.with_step("PO2 = F·P", format!("{o2:.4}·{:.4}", state.bar), format!("{po2:.4} bar")));
}
