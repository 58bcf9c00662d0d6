//! `pre-breathe-missing`: a loop is not breathed at the surface before the dive.

use super::{is_loop, of_unit, taken};
use crate::findings::{Fix, FixKind, Level};
use crate::rules::inputs::PRE_BREATHE_MIN;
use crate::rules::mix::po2_low;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, mend};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "pre-breathe-missing",
    family: Family::Unit,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("pre_breathe_missing.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, unit) in taken(look) {
        // Unsaid it is the usual one; the rule is for a unit that says there is none.
        let Some(minutes) = unit.thing.pre_breathe_min.as_ref().filter(|minutes| minutes.value <= 0.0) else {
            continue;
        };
        if !is_loop(&unit.thing) {
            continue;
        }
        // What is in the loop then, and can't be breathed, can't be waived either.
        let lean = look.simulate(&dive).is_ok_and(|simulated| po2_low::unbreathed(&simulated));
        let so = if lean { ", and the loop starts on exhaled air" } else { "" };
        let message =
            format!("unit {:?} dives without a pre-breathe{so}: {PRE_BREATHE_MIN} min are usual", unit.name.value);
        let place = &minutes.place;
        let mut finding = of_unit(look, &dive, unit, RULE.finding(place.clone(), message), place, "the pre-breathe");
        if lean {
            (finding.level, finding.stands) = (Level::Error, true);
        }
        finding.fixes.extend(mend::metric(look, place, PRE_BREATHE_MIN, None).map(|edit| Fix {
            title: format!("breathe the loop {PRE_BREATHE_MIN} min first"),
            kind: FixKind::Suggested,
            edits: vec![edit],
        }));
        out.find(finding);
    }
}
