//! `po2-low`: what is breathed as planned has too little oxygen.

use super::least_oxygen::least_po2;
use crate::findings::{Level, said};
use crate::forecast::Simulated;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("po2-low", Family::Mix, Level::Error, include_str!("po2_low.md"), look).never_waived().safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let Some((po2, at)) = least_po2(simulated) else { return };
    let dive = &simulated.dive;
    let state = simulated.ran.low_feed().at(at);
    let limit = dive.plan.limits.held(LimitName::Po2Least);
    let message = said!(
        "{diver} breathes {po2} bar of oxygen {moment}: under {limit} bar a diver may lose consciousness without warning",
        diver = *dive.member.name,
        po2 = say::po2_had(po2),
        moment = say::moment(at, state.depth_m()),
        limit = say::number(limit.value)
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
