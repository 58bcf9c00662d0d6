//! `no-mix-fits`: the unit, the work and the depth leave no mix that could be breathed.

use super::needs::{Clash, clash};
use crate::findings::{Level, said};
use crate::forecast::dives::{DiverDive, fractions};
use crate::forecast::feed;
use crate::physics::litres::{Free, Stpd};
use crate::physics::tolerance;
use crate::plan::Role;
use crate::rules::dives;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};

/// The rule.
pub(crate) const RULE: Rule = Rule::new("no-mix-fits", Family::Mix, Level::Error, include_str!("no_mix_fits.md"), look)
    .fixes(FixAvailability::Sometimes)
    .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        if let Some(clash) = clash(&dive) {
            one(context, &dive, clash, sink);
        }
    }
}

fn one(context: &Context<'_>, dive: &DiverDive<'_>, clash: Clash<'_>, sink: &mut Sink<'_>) {
    let Clash { need, depth, limit, richest } = clash;
    let water = dive.water();
    let reach = water.depth_m(limit.value / need.o2);
    let at_work = if need.working.is_empty() { None } else { work_that_would_do(dive, richest) };
    let work =
        at_work.map(|lpm| said!("work that uses {work} L/min of oxygen", work = say::number(say::down(lpm.0, 0.1))));
    let shallower = (need.o2 <= 1.0 && reach >= 1.0).then(|| said!("{to} m", to = say::operating_depth(reach)));
    let would_do = match (shallower, work) {
        (Some(shallower), Some(work)) => said!("; {shallower} or {work} would do", shallower, work),
        (Some(one), None) | (None, Some(one)) => said!("; {one} would do", one),
        (None, None) => said!(""),
    };
    let diver = &*dive.member.name;
    let message = if need.o2 > 1.0 {
        said!("no supply mix suits {diver}: not even oxygen {why}{would_do}", why = need.why, diver, would_do)
    } else {
        said!(
            "no supply mix suits {diver}: the {least} % that {why} reaches a PO2 of {po2} bar at {depth} m, where {limit} bar allow {richest} % at most{would_do}",
            least = say::percent_needed(need.o2),
            why = need.why,
            po2 = say::number(say::up(need.o2 * water.pressure_bar(depth.value), 0.01)),
            depth = say::number(depth.value),
            limit = say::number(limit.value),
            richest = say::percent_at_most(richest),
            diver,
            would_do
        )
    };
    let mut finding = RULE.finding(depth.place.clone(), message).with_about(dive.about());
    finding = finding.with_related(need.place.clone(), need.what);
    if let Some(carried) = dive.cylinders(Role::Supply).next() {
        finding = finding.with_related(carried.name.place.clone(), "the mix taken");
    }
    if let Some(place) = limit.place {
        finding = finding.with_related(place, "the limit");
    }
    for (formula, numbers, result) in &need.working {
        finding = finding.with_step(formula, numbers, result);
    }
    finding = finding.with_step(
        "F = limit/P",
        format!("{}/{:.4}", say::number(limit.value), water.pressure_bar(depth.value)),
        format!("{:.3} %", richest * 100.0),
    );
    if need.o2 <= 1.0 {
        finding = finding.with_step(
            "depth = (limit/F − Ps)/k",
            format!("({}/{:.4} − {:.4})/{:.5}", say::number(limit.value), need.o2, water.surface_bar, water.bar_per_m),
            format!("{reach:.2} m"),
        );
    }
    // Going shallower helps whoever has a mix that is rich enough.
    let rich_enough = |carried| dive.gas(carried).is_ok_and(|gas| fractions(gas.lean).o2 >= need.o2);
    if dive.cylinders(Role::Supply).all(rich_enough) {
        finding.fixes.extend(fix::no_deeper(context, dive, reach));
    }
    sink.find(finding);
}

/// The oxygen that work may use for the richest mix to hold the loop at its floor; `None` where
/// even the maker's word is against the mix.
fn work_that_would_do(dive: &DiverDive<'_>, richest: f64) -> Option<Stpd> {
    let unit = &dive.unit()?.thing;
    if unit.needs_percent.as_ref().is_some_and(|needs| needs.value / 100.0 > richest + tolerance::FRACTION) {
        return None;
    }
    let floor = unit.floor_percent.as_ref()?.value / 100.0;
    let greatest = feed(dive).ok()?.at_least().greatest_lpm();
    // Fs = F + V(1 − F)/Q, the other way round.
    let lpm = (richest - floor) * greatest / (1.0 - floor);
    (lpm.is_finite() && lpm > 0.0).then_some(Free(lpm).stpd())
}
