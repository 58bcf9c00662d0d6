//! `switch-too-deep`: a diver switches to a gas deeper than it may be breathed.

use super::operating_depth::too_deep;
use crate::findings::{Level, said};
use crate::forecast::dives::fractions;
use crate::forecast::limits::{self, PO2_GREATEST};
use crate::physics::tolerance;
use crate::rules::dives;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("switch-too-deep", Family::Mix, Level::Error, include_str!("switch_too_deep.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        for (leg, depth_m, carried) in too_deep(&dive) {
            let Ok(gas) = dive.gas(carried) else { continue };
            let limit = limits::po2(&dive.plan.limits, carried.role.value);
            let (mix, water) = (fractions(gas.rich), dive.water());
            let pressure = water.pressure_bar(depth_m);
            let operating = mix.operating_depth_m(limit.value, &water);
            let message = said!(
                "{role} {cylinder:?} with {o2} % oxygen is switched to at {depth} m, where its PO2 is {po2} bar: its operating depth is {operating_depth} m",
                role = carried.role.value,
                cylinder = carried.name.value,
                o2 = say::number(gas.rich.o2_percent),
                depth = say::number(depth_m),
                po2 = say::number(say::up(mix.o2 * pressure, 0.01)),
                operating_depth = say::operating_depth(operating.unwrap_or(0.0))
            );
            let mut finding = RULE.finding(leg.place.clone(), message).with_about(dive.about());
            finding = finding.with_related(gas.rich.place.clone(), "the mix");
            if let Some(place) = limit.place {
                finding = finding.with_related(place, "the limit");
            }
            finding.stands = mix.o2 * pressure > PO2_GREATEST + tolerance::PO2_BAR;
            sink.find(finding.with_step(
                "PO2 = F·P",
                format!("{:.4}·{pressure:.4}", mix.o2),
                format!("{:.4} bar", mix.o2 * pressure),
            ));
        }
    }
}
