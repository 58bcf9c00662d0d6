//! `switch-too-deep`: a diver switches to a gas deeper than it may be breathed.

use crate::findings::Level;
use crate::forecast::dives::{DiverDive, fractions};
use crate::forecast::limits::PO2_GREATEST;
use crate::plan::{Carried, Leg, LegKind};
use crate::rules::dives;
use crate::rules::limits::{self};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub const RULE: Rule =
    Rule::new("switch-too-deep", Family::Mix, Level::Error, include_str!("switch_too_deep.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        for (leg, depth_m, carried) in too_deep(context, &dive) {
            let Ok(gas) = dive.gas(carried) else { continue };
            let limit = limits::po2(context, dive.plan, &carried.role.value);
            let (mix, water) = (fractions(gas.rich), dive.water());
            let pressure = water.pressure_bar(depth_m);
            let operating = mix.operating_depth_m(limit.value, &water);
            let message = format!(
                "{} {:?} with {} % oxygen is switched to at {} m, where its PO2 is {} bar: its operating depth is {} m",
                carried.role.value,
                carried.name.value,
                say::number(gas.rich.o2_percent),
                say::number(depth_m),
                say::number(say::up(mix.o2 * pressure, 0.01)),
                say::operating_depth(operating.unwrap_or(0.0)),
            );
            let mut finding = RULE.finding(leg.place.clone(), message).with_about(dive.about());
            finding = finding.with_related(gas.rich.place.clone(), "the mix");
            if let Some(place) = limit.place {
                finding = finding.with_related(place, "the limit");
            }
            finding.stands = mix.o2 * pressure > PO2_GREATEST + 1e-9;
            sink.find(finding.with_step(
                "PO2 = F·P",
                format!("{:.4}·{pressure:.4}", mix.o2),
                format!("{:.4} bar", mix.o2 * pressure),
            ));
        }
    }
}

/// The switches of a dive that lead to a gas deeper than it may be breathed: the leg, the depth there, the cylinder.
pub fn too_deep<'a>(context: &Context<'_>, dive: &DiverDive<'a>) -> Vec<(&'a Leg, f64, &'a Carried)> {
    let (mut at_m, mut found) = (0.0, Vec::new());
    for leg in dive.legs() {
        if let LegKind::Switch(role) = &leg.kind {
            let limit = limits::po2(context, dive.plan, &role.value).value;
            let bar = dive.water().pressure_bar(at_m);
            let over =
                |carried: &&'a Carried| dive.gas(carried).is_ok_and(|gas| fractions(gas.rich).o2 * bar > limit + 1e-9);
            let of_role: Vec<&'a Carried> =
                dive.member.cylinders.iter().filter(|carried| carried.role.value == role.value).collect();
            // Of several the diver takes one that fits.
            if !of_role.is_empty() && of_role.iter().all(over) {
                found.extend(of_role.first().map(|carried| (leg, at_m, *carried)));
            }
        }
        at_m = match (&leg.depth_m, &leg.kind) {
            (Some(depth), _) => depth.value,
            (None, LegKind::Ascend) => 0.0,
            _ => at_m,
        };
    }
    found
}
