//! `bailout-not-independent`: the feed of the loop and the way out hang on one cylinder.

use crate::findings::{Level, Wording, said};
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule = Rule::new(
    "bailout-not-independent",
    Family::Supply,
    Level::Warning,
    include_str!("bailout_not_independent.md"),
    look,
)
.safety();

/// Below this depth it is an error, metres (common practice, no source).
pub(crate) const DEEP_M: f64 = 30.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::Loops, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let (dive, planned) = (&simulated.dive, &simulated.ran.dive);
    let Some(feeds) = planned.circuit.feeds() else { return };
    let is_spare = |cylinder: &usize| planned.home.spare.contains(cylinder);
    let independent = |cylinder: &usize| *cylinder != feeds && !is_spare(cylinder);
    if planned.home.way_out.iter().any(independent) || planned.home.way_out.is_empty() {
        return;
    }
    // One of which something is lacking may be independent.
    if !simulated.lacking.is_empty() {
        sink.lacks_all(simulated.lacking.iter().cloned());
        return;
    }
    let Some(carried) = simulated.kit.get(feeds) else { return };
    let stops = !simulated.ran.track.stops().is_empty();
    let deepest = dive.deepest().map_or(0.0, |depth| depth.value);
    let why = match (stops, deepest > DEEP_M + tolerance::DEPTH_M) {
        (true, true) => said!(", with stops and {depth} m deep", depth = say::number(deepest)),
        (true, false) => said!(", with stops"),
        (false, true) => said!(", {depth} m deep", depth = say::number(deepest)),
        (false, false) => said!(""),
    };
    let hang_on = match planned.home.spare.is_empty() {
        true => Wording("alone"),
        false => Wording("and a buddy's spare"),
    };
    let message = said!(
        "the loop and the bailout of {diver} both depend on {role} {cylinder:?} {hang_on}{why}",
        diver = *dive.member.name,
        role = carried.role.value,
        cylinder = carried.name.value,
        hang_on,
        why
    );
    let mut finding = RULE.finding(carried.name.place.clone(), message).with_about(dive.about());
    // A buddy who is there can help; nobody plans on it.
    if !why.is_empty() && planned.home.spare.is_empty() {
        finding.level = Level::Error;
    }
    if let Some(depth) = dive.deepest() {
        finding = finding.with_related(depth.place.clone(), "the deepest place of the dive");
    }
    sink.find(finding);
}
