//! `unit-incomplete`: a unit is written without a part that its kind can't dive without.

use super::{of_unit, taken};
use crate::findings::{Level, Named, said};
use crate::plan::{Apparatus, ApparatusKind};
use crate::rules::{Context, Family, READY, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("unit-incomplete", Family::Unit, Level::Warning, include_str!("unit_incomplete.md"), look)
        .safety()
        .at(READY);

/// The parts that nothing is written of.
fn missing(unit: &Apparatus, kind: ApparatusKind) -> Named {
    let controller =
        kind == ApparatusKind::Closed || unit.feed_controlled_lpm.as_ref().is_some_and(|feed| feed.value > 0.0);
    let parts = [
        ("bed", "its absorbent (`bed`)", unit.beds.is_empty()),
        ("battery", "the battery of its controller (`battery`)", controller && unit.batteries.is_empty()),
        ("mouthpiece", "what its mouthpiece gives when the lever is thrown (`mouthpiece`)", unit.mouthpiece.is_none()),
    ];
    let missing = parts.into_iter().filter(|(_, _, missing)| *missing);
    let (words, phrases): (Vec<_>, Vec<_>) = missing.map(|(word, phrase, _)| (word.to_owned(), phrase)).unzip();
    Named::new(words, phrases.join(", "))
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(kind) = unit.thing.kind.as_ref().map(|kind| kind.value).filter(|kind| *kind != ApparatusKind::Open)
        else {
            continue;
        };
        let missing = missing(&unit.thing, kind);
        if missing.is_empty() {
            continue;
        }
        let message = said!("nothing is written of unit {unit:?} about {missing}", unit = unit.name.value, missing);
        let cause = &unit.name.place;
        sink.find(of_unit(context, &dive, unit, RULE.finding(cause.clone(), message), cause, "the unit"));
    }
}
