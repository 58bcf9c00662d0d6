//! How deep a gas is breathed against how deep it may be: what several rules say of it.

use super::suits::suits;
use crate::findings::{Level, said};
use crate::forecast::dives::{DiverDive, Gas, deepest_breathed_from, fractions};
use crate::forecast::limits::{self, PO2_GREATEST};
use crate::physics::tolerance;
use crate::plan::{Carried, Leg, LegKind, Role};
use crate::rules::dives::{self, caused};
use crate::rules::{Context, Rule, Sink, fix, say};
use crate::source::Placed;

/// Looks at every gas of some roles that a dive may breathe, for a rule.
pub(in crate::rules) fn each(context: &Context<'_>, sink: &mut Sink<'_>, rule: &Rule, roles: impl Fn(Role) -> bool) {
    for dive in dives::all(context) {
        let switched = too_deep(&dive);
        for carried in dive.member.cylinders.iter().filter(|carried| roles(carried.role.value)) {
            let Some(depth) = deepest_breathed_from(&dive, carried) else { continue };
            // Where it is switched to too deep, that is what is said.
            if switched.iter().any(|(_, _, other)| other.role.value == carried.role.value) {
                continue;
            }
            // Of several of a role the diver breathes one that may be breathed there.
            let fitting = |other: &Carried| !other.is_at(carried) && fits(&dive, other, depth.value);
            if !dive.is_switched_to_by_name(carried) && dive.cylinders(carried.role.value).any(fitting) {
                continue;
            }
            match dive.gas(carried) {
                Ok(gas) => one(context, rule, &dive, (&gas, depth), sink),
                Err(unknown) => sink.lacks_all(unknown.missing()),
            }
        }
    }
}

/// Whether a cylinder's gas is within its limit at a depth.
fn fits(dive: &DiverDive<'_>, carried: &Carried, depth_m: f64) -> bool {
    let limit = limits::po2(&dive.plan.limits, carried.role.value).value;
    let bar = dive.water().pressure_bar(depth_m);
    dive.gas(carried).is_ok_and(|gas| fractions(gas.rich).o2 * bar <= limit + tolerance::PO2_BAR)
}

/// The PO2 as tables count it, bar: 1 bar at the surface and a bar every ten metres, depths to the metre, by the mix that was
/// analysed.
fn by_the_tables(gas: &Gas<'_>, depth_m: f64) -> f64 {
    let mix = gas.fill.analysed.as_ref().unwrap_or(gas.rich);
    fractions(mix).o2 * (1.0 + say::down(depth_m, 1.0) / 10.0)
}

/// What a site's own pressure may have over that of the tables, as a share of the limit: 1 atm over 1 bar, and a little.
const OVER_THE_TABLES: f64 = 0.014;

pub(in crate::rules) fn one(
    context: &Context<'_>,
    rule: &Rule,
    dive: &DiverDive<'_>,
    (gas, depth): (&Gas<'_>, &Placed<f64>),
    sink: &mut Sink<'_>,
) {
    let role = gas.carried.role.value;
    let limit = limits::po2(&dive.plan.limits, role);
    let water = dive.water();
    let o2 = fractions(gas.rich).o2;
    let pressure = water.pressure_bar(depth.value);
    let po2 = o2 * pressure;
    if po2 <= limit.value + tolerance::PO2_BAR {
        return;
    }
    let operating = fractions(gas.rich).operating_depth_m(limit.value, &water);
    let cylinder = &gas.cylinder.name.value;
    let reaches = match operating {
        Some(operating) if operating > 0.0 => said!(
            "its operating depth is {operating_depth} m; the depth allows {richest} %",
            operating_depth = say::operating_depth(operating),
            richest = say::percent_at_most(limit.value / pressure)
        ),
        _ => said!("it may be breathed at no depth here"),
    };
    let message = said!(
        "{role} {cylinder:?} with {o2} % oxygen reaches a PO2 of {po2} bar at {depth} m, over the {limit} bar allowed: {reaches}",
        o2 = say::number(gas.rich.o2_percent),
        po2 = say::number(say::up(po2, 0.01)),
        depth = say::number(depth.value),
        limit = say::number(limit.value),
        role,
        cylinder,
        reaches
    );
    let mut finding = rule.finding(gas.rich.place.clone(), message).with_about(dive.about());
    finding = caused(context, finding, &gas.rich.place, &gas.carried.name.place, "the mix");
    finding = finding.with_related(depth.place.clone(), "the deepest it is breathed at");
    if let Some(place) = limit.place {
        finding = finding.with_related(place, "the limit");
    }
    finding = finding
        .with_step(
            "P = Ps + k·depth",
            format!("{:.4} + {:.5}·{}", water.surface_bar, water.bar_per_m, say::number(depth.value)),
            format!("{pressure:.4} bar"),
        )
        .with_step("PO2 = F·P", format!("{o2:.4}·{pressure:.4}"), format!("{po2:.4} bar"));
    if let Some(operating) = operating {
        finding = finding.with_step(
            "depth = (limit/F − Ps)/k",
            format!("({}/{o2:.4} − {:.4})/{:.5}", say::number(limit.value), water.surface_bar, water.bar_per_m),
            format!("{operating:.2} m"),
        );
    }
    let tables = by_the_tables(gas, depth.value);
    if tables <= limit.value + tolerance::PO2_BAR && po2 / limit.value - 1.0 < OVER_THE_TABLES {
        finding.level = Level::Note;
        finding.say(said!(
            "{role} {cylinder:?} with {o2} % oxygen is at its limit of {limit} bar at {depth} m as tables count; at this site's pressure it is {po2} bar",
            o2 = say::number(gas.rich.o2_percent),
            limit = say::number(limit.value),
            depth = say::number(depth.value),
            po2 = say::thousandths(say::up(po2, 0.001)),
            role,
            cylinder
        ));
        finding = finding.with_step(
            "as tables count",
            format!("1 bar and 1 bar every 10 m, {} m", say::number(say::down(depth.value, 1.0))),
            format!("{tables:.3} bar"),
        );
        sink.find(finding);
        return;
    }
    finding.stands = po2 > PO2_GREATEST + tolerance::PO2_BAR;
    finding.fixes.extend(fix::another_cylinder(context, dive, gas.carried, |gas| suits(dive, gas)));
    finding.fixes.extend(operating.and_then(|operating| fix::no_deeper(context, dive, operating)));
    sink.find(finding);
}

/// The switches of a dive that lead to a gas deeper than it may be breathed: the leg, the depth there, the cylinder.
pub(in crate::rules) fn too_deep<'a>(dive: &DiverDive<'a>) -> Vec<(&'a Leg, f64, &'a Carried)> {
    let (mut at_m, mut found) = (0.0, Vec::new());
    for leg in dive.legs() {
        if let LegKind::Switch(to) = &leg.kind {
            let bar = dive.water().pressure_bar(at_m);
            let over = |carried: &&'a Carried| {
                let limit = limits::po2(&dive.plan.limits, carried.role.value).value;
                dive.gas(carried).is_ok_and(|gas| fractions(gas.rich).o2 * bar > limit + tolerance::PO2_BAR)
            };
            let meant = dive.switched_to(&to.value);
            // Of several the diver takes one that fits.
            if !meant.is_empty() && meant.iter().all(over) {
                found.extend(meant.first().map(|carried| (leg, at_m, *carried)));
            }
        }
        at_m = leg.ends_at_m().unwrap_or(at_m);
    }
    found
}
