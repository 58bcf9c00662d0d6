//! A diver: oxygen and gas by work, trainings, fitness.

use super::{Figure, Scene};
use crate::physics::litres::FREE_PER_STPD;
use crate::plan::{ApparatusKind, ByWork, Defined, Diver, Work};
use crate::rules::say;

pub(super) fn rows(scene: &Scene<'_>, diver: &Defined<Diver>) -> Vec<Figure> {
    let thing = &diver.thing;
    let mut rows = Vec::new();
    if let (Some(oxygen), Some(free)) =
        (levels(&thing.oxygen, |used| used.0), levels(&thing.oxygen, |used| used.free().0))
    {
        rows.push(Figure::new("Oxygen used", format!("{oxygen} L/min (STPD)")).with_step(
            "free = STPD × 1.01325·293.15/273.15",
            format!("each × {FREE_PER_STPD:.5}"),
            format!("{free} free L/min"),
        ));
    }
    if let Some(gas) = levels(&thing.gas, |breathed| breathed.0) {
        rows.push(Figure::new("Gas on open circuit, at the surface", format!("{gas} free L/min")));
    }
    let held = thing.trained.iter().filter(|training| {
        let on = training.on.as_ref().map(|on| on.value);
        on.is_some_and(|on| scene.plan_day().is_none_or(|day| on <= day))
    });
    for training in held {
        let kind = training.what.kind.as_ref().map_or("any unit", |kind| kind_word(kind.value));
        let mut parts = Vec::new();
        parts.extend(training.what.model.as_ref().map(|model| format!("on {:?} alone", model.value)));
        parts.extend(training.what.depth_m.as_ref().map(|depth| format!("to {} m", say::number(depth.value))));
        parts.extend(training.what.deco_min.as_ref().map(|stops| format!("{} min of stops", say::number(stops.value))));
        parts.extend(training.on.as_ref().map(|on| format!("since {}", on.value)));
        let teaches = training.what.teaches.as_ref().is_some_and(|teaches| teaches.value);
        parts.extend(teaches.then(|| "to teach it".to_owned()));
        rows.push(Figure::new(format!("Trained, {kind}"), parts.join(", ")));
    }
    if let Some(until) = &thing.fit_until {
        rows.push(Figure::new("Fit until", until.value.to_string()));
    }
    rows
}

/// The figures by work level, as far as they are written.
fn levels<T: Copy>(by_work: &ByWork<T>, lpm: impl Fn(T) -> f64) -> Option<String> {
    let said = Work::ALL.into_iter().filter_map(|work| {
        let figure = by_work.at(work)?.value;
        Some(format!("{} {}", work.word(), say::number(lpm(figure))))
    });
    let said: Vec<String> = said.collect();
    (!said.is_empty()).then(|| said.join(", "))
}

fn kind_word(kind: ApparatusKind) -> &'static str {
    match kind {
        ApparatusKind::Open => "open circuit",
        ApparatusKind::SemiClosed => "semi-closed",
        ApparatusKind::Passive => "passive",
        ApparatusKind::Closed => "closed",
    }
}
