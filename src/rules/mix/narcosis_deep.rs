//! `narcosis-deep`: a gas is more narcotic at its deepest than air at 40 m.

use super::{Breathed, breathed, worst_breathed};
use crate::findings::{Finding, Level, Wording, said};
use crate::forecast::dives::{DiverDive, Gas};
use crate::physics::mix::Narcotic;
use crate::physics::tolerance;
use crate::rules::dives::caused;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::source::Placed;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("narcosis-deep", Family::Mix, Level::Warning, include_str!("narcosis_deep.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

/// The depth at which air is as narcotic as a gas may be, metres (common practice, no source).
const NARCOTIC_M: f64 = 40.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    worst_breathed(context, sink, one, "narcotic too");
}

fn one(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, depth: &Placed<f64>) -> Option<(f64, Finding)> {
    let water = dive.water();
    let pressure = water.pressure_bar(depth.value);
    let all = breathed(dive, gas, pressure);
    // Oxygen counts as nitrogen does, so the less helium the worse.
    let worst = all.iter().min_by(|a: &&Breathed, b| a.mix.he.total_cmp(&b.mix.he))?;
    let as_air = worst.mix.equivalent_narcotic_depth_m(depth.value, &water, Narcotic::OxygenToo);
    if as_air <= NARCOTIC_M + tolerance::DEPTH_M {
        return None;
    }
    let role = gas.carried.role.value;
    let message = said!(
        "{breathed}{role} {cylinder:?} is as narcotic at {depth} m as air at {as_air} m: beyond {narcotic} m it clouds the mind",
        breathed = Wording(if worst.on_the_loop { "the loop on " } else { "" }),
        cylinder = gas.cylinder.name.value,
        depth = say::number(depth.value),
        as_air = say::number(say::up(as_air, 1.0)),
        role,
        narcotic = say::number(NARCOTIC_M)
    );
    let mut finding = RULE.finding(gas.lean.place.clone(), message).with_about(dive.about());
    finding = caused(context, finding, &gas.lean.place, &gas.carried.name.place, "the mix");
    finding = finding.with_related(depth.place.clone(), "the deepest it is breathed at").with_step(
        "depth as air = ((1 − He)·P − Ps)/k",
        format!("((1 − {:.4})·{pressure:.4} − {:.4})/{:.5}", worst.mix.he, water.surface_bar, water.bar_per_m),
        format!("{as_air:.2} m"),
    );
    let narcotic = 1.0 - worst.mix.he;
    finding.fixes.extend(fix::no_deeper(context, dive, water.depth_m(water.pressure_bar(NARCOTIC_M) / narcotic)));
    Some((as_air, finding))
}
