//! `mix-below-minimum`: the mix that feeds a loop is leaner than the unit, or the diver's hardest work, needs.

use super::least_oxygen::least_in_loop;
use super::needs::{Need, by_the_maker, leaves_none, minimum};
use crate::findings::{Level, said};
use crate::forecast::dives::{DiverDive, Gas, fractions};
use crate::forecast::limits;
use crate::physics::mix::richest_o2;
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Role};
use crate::rules::dives::{self, caused};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, mix, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("mix-below-minimum", Family::Mix, Level::Error, include_str!("mix_below_minimum.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        let kind = dive.kind();
        if !matches!(kind, Some(ApparatusKind::SemiClosed | ApparatusKind::Passive)) {
            continue;
        }
        // Where no mix fits, one that is too lean only comes of it.
        if leaves_none(&dive) {
            continue;
        }
        // A passive unit's feed follows the breath: only its maker's word can be held against the mix alone.
        let needs = match kind {
            Some(ApparatusKind::Passive) => vec![by_the_maker(&dive)],
            _ => minimum(&dive).into(),
        };
        let mut known = Vec::new();
        for need in needs {
            match need {
                Ok(need) => known.push(need),
                Err(unknown) => sink.lacks_all(unknown.missing()),
            }
        }
        for carried in dive.cylinders(Role::Supply) {
            match dive.gas(carried) {
                Ok(gas) => one(context, &dive, &gas, &known, sink),
                Err(unknown) => sink.lacks_all(unknown.missing()),
            }
        }
    }
}

fn one<'a>(context: &Context<'a>, dive: &DiverDive<'a>, gas: &Gas<'_>, needs: &[Need], sink: &mut Sink<'_>) {
    let o2 = fractions(gas.lean).o2;
    let unmet = needs.iter().filter(|need| o2 < need.o2 - tolerance::FRACTION);
    let Some(need) = unmet.max_by(|a, b| a.o2.total_cmp(&b.o2)) else { return };
    let falls = context.simulate(dive).ok().and_then(|simulated| least_in_loop(&simulated));
    let falls_to = falls.map(|(o2, at)| {
        said!(
            "; as planned the loop falls to {o2} % {moment}",
            o2 = say::percent_had(o2),
            moment = say::into_the_dive(at)
        )
    });
    let richest = dive.deepest().and_then(|depth| {
        let limit = limits::po2(&dive.plan.limits, gas.carried.role.value);
        richest_o2(depth.value, limit.value, &dive.water())
    });
    let allows = richest.filter(|richest| *richest < 1.0);
    let allows = allows.map(|richest| said!("; the depth allows {richest} %", richest = say::percent_at_most(richest)));
    let message = said!(
        "supply {cylinder:?} has {o2} % oxygen, leaner than the {least} % that {why}{allows}{falls_to}",
        cylinder = gas.cylinder.name.value,
        o2 = say::number(gas.lean.o2_percent),
        least = say::percent_needed(need.o2),
        why = need.why,
        allows = allows.unwrap_or_default(),
        falls_to = falls_to.unwrap_or_default()
    );
    let mut finding = RULE.finding(gas.lean.place.clone(), message).with_about(dive.about());
    finding = caused(context, finding, &gas.lean.place, &gas.carried.name.place, "the mix");
    finding = finding.with_related(need.place.clone(), need.what);
    for (formula, numbers, result) in &need.working {
        finding = finding.with_step(formula, numbers, result);
    }
    finding.fixes.extend(fix::another_cylinder(context, dive, gas.carried, |gas| mix::suits(dive, gas)));
    // What can't be waived of the loop can't be waived of the mix that causes it.
    finding.stands = falls.is_some();
    sink.find(finding);
}
