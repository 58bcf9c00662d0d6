//! `loop-below-floor`: the loop has less oxygen than its unit allows, as planned.

use super::least_oxygen::{least_in_loop, least_po2};
use super::needs::is_below;
use crate::findings::{Level, said};
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("loop-below-floor", Family::Mix, Level::Error, include_str!("loop_below_floor.md"), look)
        .never_waived()
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::Loops, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let Some((o2, at)) = least_in_loop(simulated) else { return };
    let dive = &simulated.dive;
    // Too little oxygen to live on is worse, and a mix that is too lean is the cause.
    if least_po2(simulated).is_some() || is_below(dive) {
        return;
    }
    let Some((unit, floor)) = dive.unit().and_then(|unit| Some((unit, unit.thing.floor_percent.as_ref()?))) else {
        return;
    };
    let state = simulated.ran.low_feed().at(at);
    let message = said!(
        "the loop of unit {unit:?} falls to {o2} % {moment}, under its least oxygen of {floor} %",
        unit = unit.name.value,
        o2 = say::percent_had(o2),
        moment = say::into_the_dive(at),
        floor = say::number(floor.value)
    );
    let mut finding = RULE.finding(dive.oxygen_is_set_at().clone(), message).with_about(dive.about());
    if let Some(leg) = simulated.ran.low_feed().asked_at(at).and_then(|leg| dive.legs().get(leg)) {
        finding = finding.with_related(leg.place.clone(), "here it is least");
    }
    finding = finding.with_related(floor.place.clone(), "the least loop oxygen");
    if state.breathed.o2 > o2 + tolerance::FRACTION {
        finding = finding.with_step(
            "F = what the controller holds − its band",
            format!("{:.4} − {:.4}", state.breathed.o2, state.breathed.o2 - o2),
            format!("{:.3} %", o2 * 100.0),
        );
    } else {
        finding = finding.with_step(
            "N·dF/dt = Q·Fs − V − (Q − V)·F, feed at the low end",
            format!("{at:.2} min into the dive"),
            format!("{:.3} %", o2 * 100.0),
        );
    }
    sink.find(finding);
}
