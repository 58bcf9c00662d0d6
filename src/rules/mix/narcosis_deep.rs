//! `narcosis-deep`: a gas is more narcotic at its deepest than air at 40 m.

use super::{Breathed, breathed, narcotic, worst_breathed};
use crate::findings::{Finding, Level, Wording, said};
use crate::forecast::dives::{DiverDive, Gas};
use crate::physics::mix::{AIR_INERT, Narcotic};
use crate::physics::tolerance;
use crate::rules::dives::caused;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::source::Placed;
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("narcosis-deep", Family::Mix, Level::Warning, include_str!("narcosis_deep.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    worst_breathed(context, sink, one, "narcotic too");
}

fn one(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, depth: &Placed<f64>) -> Option<(f64, Finding)> {
    let water = dive.water();
    let pressure = water.pressure_bar(depth.value);
    let all = breathed(dive, gas, pressure);
    let limits = &dive.plan.limits;
    let most = limits.held(LimitName::NarcosisDepth);
    let counts = narcotic::counts(limits);
    let as_air = |breathed: &Breathed| breathed.mix.equivalent_narcotic_depth_m(depth.value, &water, counts);
    let worst = all.iter().max_by(|a, b| as_air(a).total_cmp(&as_air(b)))?;
    let as_air = as_air(worst);
    if as_air <= most.value + tolerance::DEPTH_M {
        return None;
    }
    let role = gas.carried.role.value;
    let message = said!(
        "{breathed}{role} {cylinder:?} at {depth} m: END {as_air} m, over the {narcotic} m limit",
        breathed = Wording(if worst.on_the_loop { "the loop on " } else { "" }),
        cylinder = gas.cylinder.name.value,
        depth = say::number(depth.value),
        as_air = say::number(say::up(as_air, 1.0)),
        role,
        narcotic = say::number(most.value)
    );
    let mut finding = RULE.finding(gas.lean.place.clone(), message).with_about(dive.about());
    finding = caused(context, finding, &gas.lean.place, &gas.carried.name.place, "the mix");
    finding = finding.with_related(depth.place.clone(), "the deepest it is breathed at");
    if let Some(place) = &most.place {
        finding = finding.with_related(place.clone(), "the limit");
    }
    let (narcotic, air) = match counts {
        Narcotic::NitrogenOnly => (worst.mix.n2(), AIR_INERT),
        Narcotic::OxygenToo => (1.0 - worst.mix.he, 1.0),
    };
    finding.working.push(narcotic::working(worst.mix, pressure, &water, counts));
    let reaches = water.depth_m(water.pressure_bar(most.value) * air / narcotic);
    finding.fixes.extend(fix::no_deeper(context, dive, reaches));
    Some((as_air, finding))
}
