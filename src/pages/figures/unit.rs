//! A unit: its cells, the hardest work its feed holds, its absorbent, battery and dates.

use super::{Figure, Scene};
use crate::forecast::dives::fractions;
use crate::forecast::{usable_share, usable_share_told};
use crate::physics::absorbent::rated_in_water_min;
use crate::physics::cells::linearity;
use crate::physics::litres::Free;
use crate::physics::loop_balance::{FEED_TOLERANCE, Feed, greatest_metabolic_lpm};
use crate::plan::{Apparatus, ApparatusKind, Cell, Defined, Role};
use crate::rules::say;
use crate::rules::unit::cells::ends;

pub(super) fn rows(scene: &Scene<'_>, unit: &Defined<Apparatus>) -> Vec<Figure> {
    let thing = &unit.thing;
    let mut rows = Vec::new();
    rows.extend(work(scene, thing));
    rows.extend(thing.cells.iter().map(|cell| aged(scene, cell)));
    rows.extend(absorbent(scene, thing));
    rows.extend(absorbent_at_the_end(scene));
    for battery in &thing.batteries {
        let charge = scene.record(&battery.charges);
        let value = match charge.and_then(|charge| charge.what.as_ref().zip(charge.on.as_ref())) {
            Some((percent, on)) => format!("{} % on {}", say::number(percent.value), on.value),
            None => "no charge recorded by then".to_owned(),
        };
        let least = battery.least_percent.as_ref().map(|least| format!(", {} % at least", say::number(least.value)));
        rows.push(Figure::new(format!("Battery {:?}", battery.name.value), value + &least.unwrap_or_default()));
    }
    let reach = [
        thing.reach_depth_m.as_ref().map(|depth| format!("{} m", say::number(depth.value))),
        thing.reach_deco_min.as_ref().map(|stops| format!("{} min of stops", say::number(stops.value))),
    ];
    let reach: Vec<String> = reach.into_iter().flatten().collect();
    if !reach.is_empty() {
        rows.push(Figure::new("Reach", reach.join(", ")));
    }
    if let Some(on) = scene.record(&thing.calibrated).and_then(|calibrated| calibrated.on.as_ref()) {
        rows.push(Figure::new("Calibrated", on.value.to_string()));
    }
    if let Some(due) = &thing.service_due {
        rows.push(Figure::new("Service due", due.value.to_string()));
    }
    rows
}

/// The greatest oxygen use at which the feed still holds the floor, on the diver's supply, else on the leanest mix the
/// maker allows.
fn work(scene: &Scene<'_>, unit: &Apparatus) -> Option<Figure> {
    if unit.kind.as_ref()?.value != ApparatusKind::SemiClosed {
        return None;
    }
    let floor = unit.floor_percent.as_ref()?.value;
    let dive = scene.dive;
    let supply = dive.and_then(|dive| dive.gas(dive.cylinders(Role::Supply).next()?).ok());
    let (o2, on) = match supply {
        Some(gas) => (fractions(gas.lean).o2, format!("{:?}", gas.cylinder.name.value)),
        None => (unit.needs_percent.as_ref()?.value / 100.0, "the leanest mix its maker allows".to_owned()),
    };
    let rated = |flow: &crate::plan::Maybe<f64>| flow.as_ref().map_or(0.0, |flow| flow.value);
    let mut feed =
        Feed { constant_lpm: rated(&unit.feed_constant_lpm), controlled_lpm: rated(&unit.feed_controlled_lpm) }
            .low_end(FEED_TOLERANCE);
    if let Some(measured) = scene.record(&unit.flow).and_then(|flow| flow.what.as_ref()) {
        feed.constant_lpm = measured.value;
    }
    let (f, q) = (floor / 100.0, feed.greatest_lpm());
    let held = Free(greatest_metabolic_lpm(f, q, o2));
    let value = format!(
        "{} L/min (STPD) with the loop at its floor of {} %, on {on} with {} % oxygen",
        say::number(say::down(held.stpd().0, 0.1)),
        say::number(floor),
        say::number(o2 * 100.0)
    );
    let row = Figure::new("Greatest oxygen use the feed holds", value)
        .with_step(
            "Q = constant + controlled, at the low end",
            format!("{:.3} + {:.3}", feed.constant_lpm, feed.controlled_lpm),
            format!("{q:.3} free L/min"),
        )
        .with_step(
            "V = Q(Fs − F)/(1 − F)",
            format!("{q:.3}·({o2:.4} − {f:.4})/(1 − {f:.4})"),
            format!("{:.3} free L/min = {:.3} STPD", held.0, held.stpd().0),
        );
    Some(row)
}

fn aged(scene: &Scene<'_>, cell: &Cell) -> Figure {
    let mut parts = Vec::new();
    let mut working = None;
    if let (Some(day), Some(fitted)) = (scene.plan_day(), &cell.fitted)
        && let Ok(age) = fitted.value.until(day)
    {
        parts.push(format!("{} days old", age.get_days()));
    }
    match ends(cell) {
        Some((end, why, _)) => {
            let past = scene.plan_day().is_some_and(|day| end < day);
            parts.push(format!("{} {end}", if past { "ended on" } else { "ends on" }));
            working = Some((why, end.to_string()));
        }
        None => parts.push("its end is not known".to_owned()),
    }
    if let Some(reading) = scene.record(&cell.readings)
        && let (Some(air), Some(oxygen)) = (&reading.what.air_mv, &reading.what.oxygen_mv)
    {
        let off = linearity(air.value, oxygen.value).map(|off| {
            let side = if off < 0.0 { "under" } else { "over" };
            format!(", {} % {side} linear", say::number(off.abs() * 100.0))
        });
        let (air, oxygen) = (say::number(air.value), say::number(oxygen.value));
        parts.push(format!("{air} mV in air, {oxygen} mV in oxygen{}", off.unwrap_or_default()));
    }
    let row = Figure::new(format!("Cell {:?}", cell.name.value), parts.join("; "));
    match working {
        Some((why, end)) => row.with_step("end = start + life", why, end),
        None => row,
    }
}

/// Minutes left on the first canister in the plan's water, at no more than its rated output.
fn absorbent(scene: &Scene<'_>, unit: &Apparatus) -> Option<Figure> {
    let name = &unit.beds.first()?.canister.value;
    let bed = &scene.scope.canisters.get(name)?.thing;
    let (rated, co2) = (bed.rated_min.as_ref()?.value, bed.rated_co2.as_ref()?.value);
    let rated_c = bed.rated_c.as_ref()?.value;
    let used = scene.record(&bed.used).and_then(|used| used.what.as_ref()).map_or(0.0, |used| used.value);
    let water_c = scene.water_c();
    let here = rated_in_water_min(rated, rated_c, water_c);
    let left = (here * usable_share(&scene.limits) - used).max(0.0);
    let title = match unit.beds.len() {
        1 => "Absorbent".to_owned(),
        beds => format!("Absorbent, canister 1 of {beds}"),
    };
    let value = format!(
        "{} min left of canister {name:?} in water of {} °C, at up to {} L/min of carbon dioxide",
        say::minutes_had(left),
        say::number(water_c),
        say::number(co2.0)
    );
    Some(
        Figure::new(title, value)
            .with_step(
                "rated minutes in this water",
                format!("{} min at {} °C", say::number(rated), say::number(rated_c)),
                format!("{here:.2} min"),
            )
            .with_step(
                "left = rated × share − used",
                format!("{here:.2} × {} − {}", usable_share_told(&scene.limits), say::number(used)),
                format!("{left:.2} min"),
            ),
    )
}

/// Minutes left on the first canister when the dive ends.
fn absorbent_at_the_end(scene: &Scene<'_>) -> Option<Figure> {
    let simulated = scene.simulated.as_ref()?;
    let limit = simulated.ran.dive.limits.absorbent_min;
    if !limit.is_finite() {
        return None;
    }
    let dive = simulated.ran.track.exposure().absorbent_min;
    let left = limit - dive;
    let value = format!("{} min", say::minutes_had(left));
    Some(Figure::new("Absorbent left when the dive ends", value).with_step(
        "left when it begins − this dive with its pre-breathe, each minute as max(1, CO2/rated)",
        format!("{limit:.2} − {dive:.2}"),
        format!("{left:.2} min"),
    ))
}
