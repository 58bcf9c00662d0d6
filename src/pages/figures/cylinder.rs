//! A cylinder: what is in it, how deep it may be breathed, how long it lasts.

use super::{Figure, Scene};
use crate::forecast::dives::fractions;
use crate::forecast::limits;
use crate::pages::track::PURPOSES;
use crate::physics::gas::{Stored, ideal_free_l};
use crate::physics::mix::richest_o2;
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Cylinder, Dated, Defined, Fill, Role, WrittenMix};
use crate::rules::mix::minimum;
use crate::rules::say;
use crate::rules::supply::turn::turn;
use crate::words::LimitName;

/// What is in a cylinder: the leanest and the richest that it may be.
struct Content<'a> {
    /// Its pressure as last known, bar, and the temperature it was read at, °C.
    gauge: Option<(f64, f64)>,
    lean: &'a WrittenMix,
    rich: &'a WrittenMix,
}

pub(super) fn rows(scene: &Scene<'_>, cylinder: &Defined<Cylinder>) -> Vec<Figure> {
    let mut rows = Vec::new();
    let Some(record) = scene.record(&cylinder.thing.fills) else {
        return vec![Figure::new("Fill", "none recorded by then")];
    };
    let fill = &record.what;
    rows.push(filled(fill, record.on.as_ref().map(|on| on.value.to_string())));
    let by_oxygen = |a: &&WrittenMix, b: &&WrittenMix| a.o2_percent.total_cmp(&b.o2_percent);
    let mixes = || [&fill.analysed, &fill.nominal].into_iter().flatten().map(|mix| &mix.value);
    if let (Some(lean), Some(rich)) = (mixes().min_by(by_oxygen), mixes().max_by(by_oxygen))
        && fractions(lean).is_possible()
        && fractions(rich).is_possible()
    {
        let content = Content { gauge: gauge(scene, cylinder, record), lean, rich };
        rows.extend(depths(scene, &content));
        rows.extend(window(scene));
        rows.extend(free_gas(scene, &cylinder.thing, &content));
        rows.extend(endurance(scene));
        rows.extend(at_the_end(scene));
    }
    rows
}

fn mix(mix: &WrittenMix) -> String {
    let helium =
        if mix.he_percent > 0.0 { format!(", {} % helium", say::number(mix.he_percent)) } else { String::new() };
    format!("{} % oxygen{helium}", say::number(mix.o2_percent))
}

fn filled(fill: &Fill, on: Option<String>) -> Figure {
    let mut parts = Vec::new();
    if let Some(gauge) = &fill.gauge_bar {
        parts.push(format!("{} bar", say::number(gauge.value)));
    }
    parts.extend(fill.nominal.as_ref().map(|nominal| format!("{} ordered", mix(nominal))));
    // Helium that was not looked for was not analysed, though the mix goes by it.
    let looked_for = |analysed: &WrittenMix| match fill.helium_analysed {
        true => mix(analysed),
        false => mix(&WrittenMix { he_percent: 0.0, ..*analysed }),
    };
    parts.extend(fill.analysed.as_ref().map(|analysed| format!("{} analysed", looked_for(&analysed.value))));
    parts.extend(on.map(|on| format!("filled {on}")));
    Figure::new("Fill", if parts.is_empty() { "nothing said of it".to_owned() } else { parts.join(", ") })
}

/// The depths between which the mix may be breathed in its role, by its richest; in any role where it has none here.
fn depths(scene: &Scene<'_>, content: &Content<'_>) -> Vec<Figure> {
    let limits = &scene.limits;
    let (working, deco) = (limits.value(LimitName::Po2Working), limits.value(LimitName::Po2Deco));
    let bailout = limits.value(LimitName::Po2Bailout);
    let uses = match scene.carried.map(|carried| carried.role.value.po2_limit()) {
        Some(LimitName::Po2Deco) => vec![("on stops", deco)],
        Some(LimitName::Po2Bailout) => vec![("as bailout", bailout)],
        Some(_) => vec![("working", working)],
        None => vec![("working", working), ("on stops", deco)],
    };
    let water = scene.water();
    let rich = fractions(content.rich);
    let mut rows = Vec::new();
    for (use_, limit) in uses {
        let label = format!("Operating depth {use_}");
        let Some(depth) = rich.operating_depth_m(limit, &water) else {
            rows.push(Figure::new(label, format!("none: over {} bar at the surface", say::number(limit))));
            continue;
        };
        let value = format!("{} m at a PO2 of {} bar", say::operating_depth(depth), say::number(limit));
        rows.push(Figure::new(label, value).with_step(
            "depth = (limit/F − Ps)/k",
            format!("({}/{:.4} − {:.4})/{:.5}", say::number(limit), rich.o2, water.surface_bar, water.bar_per_m),
            format!("{depth:.2} m"),
        ));
    }
    let least = limits.value(LimitName::Po2Least);
    let lean = fractions(content.lean);
    if let Some(depth) = lean.least_depth_m(least, &water).filter(|depth| *depth > 0.0) {
        let value = format!("{} m for a PO2 of {} bar", say::number(say::up(depth, 1.0)), say::number(least));
        rows.push(Figure::new("Least depth", value).with_step(
            "depth = (least/F − Ps)/k",
            format!("({}/{:.4} − {:.4})/{:.5}", say::number(least), lean.o2, water.surface_bar, water.bar_per_m),
            format!("{depth:.2} m"),
        ));
    }
    rows
}

/// The mixes that would do in its place on the dive.
fn window(scene: &Scene<'_>) -> Option<Figure> {
    let dive = scene.dive?;
    let role = scene.carried?.role.value;
    if !matches!(role, Role::Supply | Role::Back | Role::Diluent | Role::Bailout) {
        return None;
    }
    let deepest = dive.deepest()?.value;
    let limit = limits::po2(&scene.limits, role).value;
    let water = dive.water();
    let richest = richest_o2(deepest, limit, &water)?;
    let pressure = water.pressure_bar(deepest);
    let needs = if role == Role::Supply && dive.kind() == Some(ApparatusKind::SemiClosed) {
        minimum(&dive).into_iter().flatten().collect()
    } else {
        Vec::new()
    };
    let most = needs.iter().max_by(|a, b| a.o2.total_cmp(&b.o2));
    let richest_said = say::number(say::down(richest * 100.0, 0.1));
    let deep = say::number(deepest);
    let value = match most {
        Some(need) if need.o2 > richest => format!("none: {} needs more than {deep} m allows", need.why),
        Some(need) => format!("{} to {richest_said} % oxygen for {deep} m", say::percent_needed(need.o2)),
        None => format!("up to {richest_said} % oxygen for {deep} m"),
    };
    let mut row = Figure::new("Mix window", value);
    for need in &needs {
        row = row.with_step("leanest", need.why.clone(), format!("{} %", say::percent_needed(need.o2)));
        for (formula, numbers, result) in &need.working {
            row = row.with_step(formula, numbers, result);
        }
    }
    Some(row.with_step(
        "richest = limit/P",
        format!("{}/{pressure:.4}", say::number(limit)),
        format!("{:.2} %", richest * 100.0),
    ))
}

/// A cylinder's pressure as it was read since its fill, else the fill's own, bar, and the temperature it was read at, °C.
fn gauge(scene: &Scene<'_>, cylinder: &Defined<Cylinder>, fill: &Dated<Fill>) -> Option<(f64, f64)> {
    let filled = fill.on.as_ref().map(|on| on.value);
    let read = scene.record(&cylinder.thing.gauges).filter(|read| read.on.as_ref().map(|on| on.value) >= filled);
    let of_fill = (fill.what.gauge_bar.as_ref(), fill.what.temperature_c.as_ref());
    let (bar, celsius) = read.map_or(of_fill, |read| (read.what.gauge_bar.as_ref(), read.what.temperature_c.as_ref()));
    let celsius = celsius.map_or_else(|| scene.limits.value(LimitName::FillingTemperature), |celsius| celsius.value);
    Some((bar?.value, celsius))
}

/// Free litres in the cylinder by a real equation of state, the ideal figure beside it.
fn content_l(scene: &Scene<'_>, cylinder: &Cylinder, content: &Content<'_>) -> Option<f64> {
    let celsius = content.gauge?.1;
    let (size, gauge) = (cylinder.size_l.as_ref()?.value, content.gauge?.0);
    Stored::new(fractions(content.lean), celsius)?.free_l(size, gauge, scene.water().surface_bar)
}

fn free_gas(scene: &Scene<'_>, cylinder: &Cylinder, content: &Content<'_>) -> Option<Figure> {
    let litres = content_l(scene, cylinder, content)?;
    let (size, gauge) = (cylinder.size_l.as_ref()?.value, content.gauge?.0);
    let ideal = ideal_free_l(size, gauge);
    let value = format!("{} L", say::number(say::down(litres, 1.0)));
    let celsius = content.gauge?.1;
    let row = Figure::new("Free gas", value).with_step(
        "real gas (GERG-2008), free litres at 1 bar and 20 °C",
        format!(
            "{} L at {} bar and {} °C, {}",
            say::number(size),
            say::number(gauge),
            say::number(celsius),
            mix(content.lean)
        ),
        format!("{litres:.1} L"),
    );
    Some(row.with_step(
        "were it ideal: size × gauge",
        format!("{} × {}", say::number(size), say::number(gauge)),
        format!("{ideal:.1} L"),
    ))
}

/// How long what the diver lives on lasts, the deepest stay lengthened until something fails.
fn endurance(scene: &Scene<'_>) -> Option<Figure> {
    let (simulated, carried) = (scene.simulated.as_ref()?, scene.carried?);
    let turn = turn(simulated)?;
    let number = simulated.kit.iter().position(|other| other.is_at(carried))?;
    if number != turn.cylinder {
        return None;
    }
    let (depth, binds) = (say::number(say::up(turn.depth_m, 1.0)), turn.binds.words());
    let value = format!(
        "{}, staying at {depth} m: turn at {} bar, later {binds}",
        say::into_the_dive(turn.t_min),
        say::pressure_needed(turn.gauge_bar),
    );
    let planned = say::run_time(turn.planned_min);
    Some(
        Figure::new("Endurance", value)
            .with_step("the stay ends as planned", "run time".to_owned(), planned)
            .with_step(
                "the last moment from which nothing fails on the way home or out",
                binds.to_owned(),
                format!("{} at {:.2} bar", say::run_time(turn.t_min), turn.gauge_bar),
            ),
    )
}

/// What the dive leaves in it, the constant feed at the high end of its tolerance.
fn at_the_end(scene: &Scene<'_>) -> Option<Figure> {
    let (simulated, carried) = (scene.simulated.as_ref()?, scene.carried?);
    let number = simulated.kit.iter().position(|other| other.is_at(carried))?;
    let track = simulated.ran.high_feed();
    let (full, left) = (*track.start().litres.get(number)?, *track.end.litres.get(number)?);
    let gauge = track.end.gauge_bar(number)?;
    let mut row = Figure::new("Left when the dive ends", format!("{} bar", say::pressure_had(gauge)));
    let filled = simulated.ran.dive.cylinders.get(number)?.filled;
    let fresh = crate::run::Cylinder::new(filled)?.full_l;
    if fresh - full > tolerance::LITRES {
        row = row.with_step(
            "content − what earlier dives take",
            format!("{fresh:.1} − {:.1}", fresh - full),
            format!("{full:.1} free L"),
        );
    }
    let used = PURPOSES.iter().map(|(purpose, word)| (track.used_l(number, *purpose), word));
    let others = track.end.others.as_ref();
    let others_l = others.map_or(0.0, |others| others.litres(number, track.start().t_min, track.end.t_min));
    let used: Vec<String> = used
        .chain([(others_l, &"by others")])
        .filter(|(litres, _)| *litres > 0.05)
        .map(|(litres, word)| format!("{word} {litres:.1}"))
        .collect();
    let used = if used.is_empty() { "nothing".to_owned() } else { used.join(" + ") };
    row = row.with_step("used, with the constant feed at its high end", used, format!("{:.1} free L", full - left));
    Some(row.with_step(
        "left, real gas at the water's temperature",
        format!("{full:.1} − {:.1}", full - left),
        format!("{left:.1} free L = {gauge:.2} bar"),
    ))
}
