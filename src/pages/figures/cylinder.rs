//! A cylinder: what is in it, how deep it may be breathed, how long it lasts.

use super::{Figure, Scene};
use crate::pages::track::PURPOSES;
use crate::physics::gas::{Stored, ideal_free_l};
use crate::physics::litres::FREE_C;
use crate::physics::mix::{Mix as Fractions, richest_o2};
use crate::plan::{Cylinder, Defined, Fill, Mix, UnitKind, Work};
use crate::rules::dives::{OneDive, at_work, fractions};
use crate::rules::inputs::{feed, oxygen_free_lpm};
use crate::rules::limits::{PO2_BAILOUT, PO2_DECO, PO2_WORKING, RESERVE_BAR};
use crate::rules::mix::mix_below_minimum::minimum;
use crate::rules::say;

/// The least PO2 that keeps a diver awake, bar, unless a plan says another (common practice, no source).
const PO2_LEAST: f64 = 0.18;

/// What is in a cylinder: the leanest and the richest that it may be.
struct Content<'a> {
    fill: &'a Fill,
    lean: &'a Mix,
    rich: &'a Mix,
}

pub fn rows(scene: &Scene<'_>, cylinder: &Defined<Cylinder>) -> Vec<Figure> {
    let mut rows = Vec::new();
    let Some(record) = scene.record(&cylinder.thing.fills) else {
        return vec![Figure::new("Fill", "none recorded by then")];
    };
    let fill = &record.what;
    rows.push(filled(fill, record.on.as_ref().map(|on| on.value.to_string())));
    let by_oxygen = |a: &&Mix, b: &&Mix| a.o2_percent.total_cmp(&b.o2_percent);
    let mixes = || [&fill.analysed, &fill.nominal].into_iter().flatten().map(|mix| &mix.value);
    if let (Some(lean), Some(rich)) = (mixes().min_by(by_oxygen), mixes().max_by(by_oxygen))
        && fractions(lean).is_possible()
        && fractions(rich).is_possible()
    {
        let content = Content { fill, lean, rich };
        rows.extend(depths(scene, &content));
        rows.extend(window(scene));
        rows.extend(free_gas(scene, &cylinder.thing, &content));
        rows.extend(endurance(scene, &cylinder.thing, &content));
        rows.extend(at_the_end(scene));
    }
    rows
}

fn mix(mix: &Mix) -> String {
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
    parts.extend(fill.analysed.as_ref().map(|analysed| format!("{} analysed", mix(analysed))));
    parts.extend(on.map(|on| format!("filled {on}")));
    Figure::new("Fill", if parts.is_empty() { "nothing said of it".to_owned() } else { parts.join(", ") })
}

/// The depths between which the mix may be breathed in its role, by its richest; in any role where it has none here.
fn depths(scene: &Scene<'_>, content: &Content<'_>) -> Vec<Figure> {
    let limits = &scene.limits;
    let or = |set: &crate::plan::Maybe<f64>, usual| set.as_ref().map_or(usual, |set| set.value);
    let (working, deco) = (or(&limits.po2_working, PO2_WORKING), or(&limits.po2_deco, PO2_DECO));
    let bailout = or(&limits.po2_bailout, PO2_BAILOUT);
    let uses = match scene.carried.map(|carried| carried.role.value.as_str()) {
        Some("deco") => vec![("on stops", deco)],
        Some("bailout") => vec![("as bailout", bailout)],
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
    let least = or(&limits.po2_least, PO2_LEAST);
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
    let role = scene.carried?.role.value.as_str();
    if !matches!(role, "supply" | "back" | "diluent" | "bailout") {
        return None;
    }
    let deepest = dive.deepest()?.value;
    let limit = match role {
        "bailout" => scene.limits.po2_bailout.as_ref().map_or(PO2_BAILOUT, |limit| limit.value),
        _ => scene.limits.po2_working.as_ref().map_or(PO2_WORKING, |limit| limit.value),
    };
    let water = dive.water();
    let richest = richest_o2(deepest, limit, &water)?;
    let pressure = water.pressure_bar(deepest);
    let needs = if role == "supply" && dive.kind() == Some(UnitKind::SemiClosed) {
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

/// Free litres in the cylinder by a real equation of state, the ideal figure beside it.
fn content_l(scene: &Scene<'_>, cylinder: &Cylinder, content: &Content<'_>) -> Option<f64> {
    let celsius = content.fill.temperature_c.as_ref().map_or(FREE_C, |read| read.value);
    let (size, gauge) = (cylinder.size_l.as_ref()?.value, content.fill.gauge_bar.as_ref()?.value);
    Stored::new(fractions(content.lean), celsius)?.free_l(size, gauge, scene.water().surface_bar)
}

fn free_gas(scene: &Scene<'_>, cylinder: &Cylinder, content: &Content<'_>) -> Option<Figure> {
    let litres = content_l(scene, cylinder, content)?;
    let (size, gauge) = (cylinder.size_l.as_ref()?.value, content.fill.gauge_bar.as_ref()?.value);
    let ideal = ideal_free_l(size, gauge);
    let value = format!("{} L", say::number(say::down(litres, 1.0)));
    let celsius = content.fill.temperature_c.as_ref().map_or(FREE_C, |read| read.value);
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

/// How long the gas lasts at the hardest work the dive asks for, down to the reserve.
fn endurance(scene: &Scene<'_>, cylinder: &Cylinder, content: &Content<'_>) -> Option<Figure> {
    let dive = scene.dive?;
    let work = dive.hardest();
    let size = cylinder.size_l.as_ref()?.value;
    let reserve = scene.limits.reserve_gauge_bar.as_ref().map_or(RESERVE_BAR, |reserve| reserve.value);
    let lean = fractions(content.lean);
    let litres = content_l(scene, cylinder, content)?;
    let kept = Stored::new(lean, scene.water_c())?.free_l(size, reserve, scene.water().surface_bar)?;
    let flow = match (scene.carried?.role.value.as_str(), dive.kind()?) {
        ("supply", UnitKind::SemiClosed) => on_the_feed(&dive, lean, work)?,
        ("back", UnitKind::Open) => on_open_circuit(&dive, work)?,
        _ => return None,
    };
    let minutes = (litres - kept).max(0.0) / flow.lpm;
    let value = format!(
        "{} min at {} work{}, down to {} bar; the way home is not in it",
        say::minutes_had(minutes),
        work.word(),
        flow.place,
        say::number(reserve)
    );
    let mut row =
        Figure::new("Endurance", value).with_step(flow.formula, flow.numbers, format!("{:.3} L/min", flow.lpm));
    row =
        row.with_step("minutes = (content − reserve)/flow", format!("({litres:.1} − {kept:.1})/{:.3}", flow.lpm), {
            format!("{minutes:.2} min")
        });
    minutes.is_finite().then_some(row)
}

/// What leaves a cylinder, free litres a minute, and how it was worked out.
struct Flow {
    lpm: f64,
    place: String,
    formula: &'static str,
    numbers: String,
}

fn on_the_feed(dive: &OneDive<'_>, lean: Fractions, work: Work) -> Option<Flow> {
    let feed = feed(dive).ok()?.at_most();
    let metabolic = oxygen_free_lpm(dive, work).ok()?.value;
    let Some(point) = dive.member.set_point.as_ref().map(|point| point.value / 100.0) else {
        let lpm = feed.constant_lpm.max(metabolic);
        let numbers = format!("{:.3}, oxygen used {metabolic:.3}", feed.constant_lpm);
        return Some(Flow { lpm, place: String::new(), formula: "Q = constant, at the high end", numbers });
    };
    let lpm = feed.at_set_point_lpm(point, lean.o2, metabolic).max(metabolic);
    Some(Flow {
        lpm,
        place: format!(" and a set-point of {} %", say::number(point * 100.0)),
        formula: "Q = Qc + clip(V(1 − F)/(Fs − F) − Qc, 0, Qd), at the high end",
        numbers: format!(
            "Qc {:.3}, Qd {:.3}, V {metabolic:.3}, F {point:.4}, Fs {:.4}",
            feed.constant_lpm, feed.controlled_lpm, lean.o2
        ),
    })
}

fn on_open_circuit(dive: &OneDive<'_>, work: Work) -> Option<Flow> {
    let surface = at_work(&dive.diver()?.gas_lpm, work)?.value;
    let deepest = dive.deepest()?.value;
    let pressure = dive.water().pressure_bar(deepest);
    Some(Flow {
        lpm: surface * pressure,
        place: format!(" at {} m", say::number(deepest)),
        formula: "flow = breathing at the surface × P",
        numbers: format!("{surface:.3} × {pressure:.4}"),
    })
}

/// What the dive leaves in it, the constant feed at the high end of its tolerance.
fn at_the_end(scene: &Scene<'_>) -> Option<Figure> {
    let (simulated, carried) = (scene.simulated.as_ref()?, scene.carried?);
    let number = simulated.kit.iter().position(|other| std::ptr::eq(*other, carried))?;
    let track = simulated.ran.high_feed();
    let (full, left) = (*track.start().litres.get(number)?, *track.end.litres.get(number)?);
    let gauge = track.end.gauge_bar(number)?;
    let mut row = Figure::new("Left when the dive ends", format!("{} bar", say::pressure_had(gauge)));
    let filled = simulated.ran.dive.cylinders.get(number)?.filled;
    let fresh = crate::run::Cylinder::new(filled)?.full_l;
    if fresh - full > 1e-9 {
        row = row.with_step(
            "content − what earlier dives take",
            format!("{fresh:.1} − {:.1}", fresh - full),
            format!("{full:.1} free L"),
        );
    }
    let used = PURPOSES.iter().map(|(purpose, word)| (track.used_l(number, *purpose), word));
    let used: Vec<String> =
        used.filter(|(litres, _)| *litres > 0.05).map(|(litres, word)| format!("{word} {litres:.1}")).collect();
    let used = if used.is_empty() { "nothing".to_owned() } else { used.join(" + ") };
    row = row.with_step("used, with the constant feed at its high end", used, format!("{:.1} free L", full - left));
    Some(row.with_step(
        "left, real gas at the water's temperature",
        format!("{full:.1} − {:.1}", full - left),
        format!("{left:.1} free L = {gauge:.2} bar"),
    ))
}
