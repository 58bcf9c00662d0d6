//! How fast legs change depth.

use std::collections::BTreeSet;

use crate::findings::{Fix, FixKind, said};
use crate::physics::tolerance;
use crate::plan::LegKind;
use crate::rules::dives;
use crate::rules::{Context, Rule, Sink, fix, say};
use crate::words::LimitName;

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    Up,
    Down,
}

/// Says of every leg that it goes one way faster than so many metres a minute, once for all its divers.
pub(super) fn too_fast(context: &Context<'_>, sink: &mut Sink<'_>, rule: &Rule, way: Way, fastest: f64) {
    let mut told = BTreeSet::new();
    for dive in dives::all(context) {
        let mut at_m = 0.0;
        for leg in dive.legs() {
            let Some(to_m) = leg.ends_at_m() else { continue };
            let change: f64 = to_m - at_m;
            at_m = to_m;
            if change == 0.0 || (change < 0.0) != (way == Way::Up) {
                continue;
            }
            let usual = if way == Way::Up { LimitName::AscentRate } else { LimitName::DescentRate };
            let usual = dive.plan.limits.value(usual);
            let over = match &leg.kind {
                LegKind::Travel { minutes, .. } => minutes.as_ref(),
                _ => None,
            };
            let (rate, place) = match (leg.rate(), over) {
                (_, Some(minutes)) if minutes.value > 0.0 => (change.abs() / minutes.value, &minutes.place),
                (Some(rate), _) => (rate.value, &rate.place),
                _ => continue,
            };
            if rate <= fastest + tolerance::WRITTEN || !told.insert(place.clone()) {
                continue;
            }
            let word = if way == Way::Up { "up" } else { "down" };
            let message = said!(
                "{rate} m/min {word}, faster than the {fastest} m/min allowed",
                rate = say::number(say::up(rate, 0.1)),
                fastest = say::number(fastest),
                word
            );
            let mut finding = rule.finding(place.clone(), message).with_about(dive.about());
            finding.about.diver = None;
            let (value, unit) = match over {
                Some(_) => (say::up(change.abs() / usual, 1.0), None),
                None => (usual, Some("m/min")),
            };
            if let Some(edit) = fix::metric(context, place, value, unit) {
                let title = match over {
                    Some(_) => format!("take {} min", say::number(value)),
                    None => format!("go {} m a minute", say::number(value)),
                };
                finding.fixes.push(Fix { title, kind: FixKind::Suggested, edits: vec![edit] });
            }
            sink.find(finding);
        }
    }
}
