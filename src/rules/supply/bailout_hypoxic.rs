//! `bailout-hypoxic`: the way out is breathed on a gas that is too lean near the surface.

use crate::findings::{Level, said};
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::rules::mix::least_oxygen::least_po2;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("bailout-hypoxic", Family::Supply, Level::Error, include_str!("bailout_hypoxic.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let (dive, planned) = (&simulated.dive, &simulated.ran.dive);
    // Where the dive as planned is too lean, that is what is said.
    let Some(way_out) = planned.home.out.filter(|_| least_po2(simulated).is_none()) else { return };
    let deepest = simulated.ran.escapes().iter().filter(|escape| escape.lacks_l.is_finite());
    let Some(worst) = deepest.max_by(|a, b| a.depth_m.total_cmp(&b.depth_m)) else { return };
    let track = simulated.ran.high_feed();
    let bail_out = || planned.bail_out_from(track.at(worst.t_min), &planned.sources(), &way_out);
    let going = simulated.ran.answer("bail-out from the deepest", &[], bail_out);
    let least = planned.limits.least_bar;
    let Some(segment) = going.segments.iter().find(|segment| {
        segment.start.source > 0
            && segment.po2_at(0.0).min(segment.po2_at(segment.minutes)) < least - tolerance::PO2_BAR
    }) else {
        return;
    };
    let Some(carried) = segment.start.source.checked_sub(1).and_then(|number| simulated.kit.get(number)) else {
        return;
    };
    let mix = segment.mix_at(0.0);
    let depth = dive.water().depth_m(least / mix.o2);
    let message = said!(
        "{role} {cylinder:?} with {o2} % oxygen may be breathed up to {depth} m only: nothing else in reach brings {diver} to the surface",
        role = carried.role.value,
        cylinder = carried.name.value,
        o2 = say::number(mix.o2 * 100.0),
        depth = say::number(say::up(depth.max(0.0), 1.0)),
        diver = *dive.member.name
    );
    let mut finding = RULE.finding(carried.name.place.clone(), message).with_about(dive.about());
    if let Ok(gas) = dive.gas(carried) {
        finding = finding.with_related(gas.lean.place.clone(), "the mix");
    }
    sink.find(finding.with_step(
        "depth = (least/F − Ps)/k",
        format!(
            "({}/{:.4} − {:.4})/{:.5}",
            say::number(least),
            mix.o2,
            dive.water().surface_bar,
            dive.water().bar_per_m
        ),
        format!("{depth:.2} m"),
    ));
}
