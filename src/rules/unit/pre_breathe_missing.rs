//! `pre-breathe-missing`: a loop is not breathed at the surface before the dive.

use super::{is_loop, of_unit, taken};
use crate::findings::{Fix, FixKind, Level, Wording, said};
use crate::forecast::PRE_BREATHE_MIN;
use crate::rules::mix::least_oxygen::unbreathed;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("pre-breathe-missing", Family::Unit, Level::Warning, include_str!("pre_breathe_missing.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        // Unsaid it is the usual one; the rule is for a unit that says there is none.
        let Some(minutes) = unit.thing.pre_breathe_min.as_ref().filter(|minutes| minutes.value <= 0.0) else {
            continue;
        };
        if !is_loop(&unit.thing) {
            continue;
        }
        // What is in the loop then, and can't be breathed, can't be waived either.
        let lean = context.simulate(&dive).is_ok_and(|simulated| unbreathed(&simulated));
        let so = Wording(if lean { ", and the loop starts on exhaled air" } else { "" });
        let message = said!(
            "unit {unit:?} dives without a pre-breathe{so}: {usual} min are usual",
            unit = unit.name.value,
            so,
            usual = say::number(PRE_BREATHE_MIN)
        );
        let place = &minutes.place;
        let mut finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the pre-breathe");
        if lean {
            (finding.level, finding.stands) = (Level::Error, true);
        }
        finding.fixes.extend(fix::metric(context, place, PRE_BREATHE_MIN, None).map(|edit| Fix {
            title: format!("breathe the loop {PRE_BREATHE_MIN} min first"),
            kind: FixKind::Suggested,
            edits: vec![edit],
        }));
        sink.find(finding);
    }
}
