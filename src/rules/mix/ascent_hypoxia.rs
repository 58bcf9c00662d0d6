//! `ascent-hypoxia`: going up from some moment of the dive, the loop runs out of oxygen on the way.

use super::least_oxygen::{least_going_up, least_po2};
use crate::findings::{Level, said};
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("ascent-hypoxia", Family::Mix, Level::Error, include_str!("ascent_hypoxia.md"), look)
        .never_waived()
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::Loops, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    // Where there is too little as planned, that is said.
    if least_po2(simulated).is_some() {
        return;
    }
    let faint = simulated.ran.dive.limits.faint_bar;
    let Some((po2, at, depth)) = least_going_up(simulated).filter(|(po2, ..)| *po2 < faint - tolerance::PO2_BAR) else {
        return;
    };
    let dive = &simulated.dive;
    let state = simulated.ran.low_feed().at(at);
    let message = said!(
        "going up at once {moment}, from {depth} m, {diver} breathes {po2} bar of oxygen before the surface; under {faint} bar \
         a diver loses consciousness",
        moment = say::into_the_dive(at),
        depth = say::number(say::up(depth, 1.0)),
        diver = *dive.member.name,
        po2 = say::po2_had(po2),
        faint = say::number(faint)
    );
    let cause = dive.main_gas().map_or(&dive.member.name.place, |carried| &carried.name.place);
    let mut finding = RULE.finding(cause.clone(), message).with_about(dive.about());
    if let Some(leg) = simulated.ran.low_feed().asked_at(at).and_then(|leg| dive.legs().get(leg)) {
        finding = finding.with_related(leg.place.clone(), "at the end of this");
    }
    if let Some(gas) = dive.main_gas().and_then(|carried| dive.gas(carried).ok()) {
        finding = finding.with_related(gas.lean.place.clone(), "the mix");
    }
    sink.find(
        finding
            .with_step(
                "the loop before going up",
                format!("{:.4}·{:.4} bar", state.breathed.o2, state.bar),
                format!("{:.4} bar", state.breathed.o2 * state.bar),
            )
            .with_step(
                "N·dF/dt = Q·Fs − V − (Q − V)·F on the way up",
                format!("at {} m a minute", say::number(dive.plan.limits.value(LimitName::AscentRate))),
                format!("{po2:.4} bar at the least"),
            ),
    );
}
