//! `diluent-too-rich`: a diluent can't bring a closed loop's oxygen down at depth.

use crate::findings::{Level, said};
use crate::forecast::dives::{DiverDive, Gas, fractions};
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Role};
use crate::rules::dives::{self, caused};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, mix, say};
use crate::source::Placed;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("diluent-too-rich", Family::Mix, Level::Warning, include_str!("diluent_too_rich.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

/// How far under the set-point a diluent must be able to flush the loop, bar (common practice, no source).
pub(crate) const FLUSH_BAR: f64 = 0.2;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context).into_iter().filter(|dive| dive.kind() == Some(ApparatusKind::Closed)) {
        let Some((depth, point)) = dive.deepest().zip(dive.set_point_at_depth()) else { continue };
        let Some(held) = point.value.bar() else { continue };
        let point = &point.clone().map(|_| held);
        for carried in dive.cylinders(Role::Diluent) {
            match dive.gas(carried) {
                Ok(gas) => one(context, &dive, &gas, depth, point, sink),
                Err(unknown) => sink.lacks_all(unknown.missing()),
            }
        }
    }
}

fn one(
    context: &Context<'_>,
    dive: &DiverDive<'_>,
    gas: &Gas<'_>,
    depth: &Placed<f64>,
    point: &Placed<f64>,
    sink: &mut Sink<'_>,
) {
    let water = dive.water();
    let pressure = water.pressure_bar(depth.value);
    let po2 = |gas: &Gas<'_>| fractions(gas.rich).po2_bar(pressure);
    let most = point.value - FLUSH_BAR;
    if po2(gas) <= most + tolerance::PO2_BAR {
        return;
    }
    let name = &gas.cylinder.name.value;
    let message = said!(
        "diluent {name:?} with {o2} % oxygen flushes the loop to {po2} bar at {depth} m: with a set-point of {set_point} bar it should be {most} at most",
        o2 = say::number(gas.rich.o2_percent),
        po2 = say::number(say::up(po2(gas), 0.01)),
        depth = say::number(depth.value),
        set_point = say::number(point.value),
        most = say::number(say::down(most, 0.01)),
        name
    );
    let mut finding = RULE.finding(gas.rich.place.clone(), message).with_about(dive.about());
    finding = caused(context, finding, &gas.rich.place, &gas.carried.name.place, "the mix");
    finding = finding
        .with_related(depth.place.clone(), "the deepest it is breathed at")
        .with_related(point.place.clone(), "the set-point")
        .with_step("PO2 = F·P", format!("{:.4}·{pressure:.4}", fractions(gas.rich).o2), format!("{:.4} bar", po2(gas)));
    let fits = |gas: &Gas<'_>| mix::suits(dive, gas) && po2(gas) <= most;
    finding.fixes.extend(fix::another_cylinder(context, dive, gas.carried, fits));
    let reach = fractions(gas.rich).operating_depth_m(most, &water);
    finding.fixes.extend(reach.and_then(|reach| fix::no_deeper(context, dive, reach)));
    sink.find(finding);
}
