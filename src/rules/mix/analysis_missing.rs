//! `analysis-missing`: a gas was not analysed.

use crate::findings::Level;
use crate::plan::as_of;
use crate::rules::dives::{cylinders_taken, fractions, of_cylinder};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "analysis-missing",
    family: Family::Mix,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("analysis_missing.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(look) {
        let Some(fill) = dive.day().and_then(|day| as_of(&cylinder.thing.fills, day)) else { continue };
        // A fill that says no mix at all lacks a fact, and one that can't be has a rule of its own.
        let Some(nominal) = fill.what.nominal.as_ref().filter(|_| fill.what.analysed.is_none()) else { continue };
        if !fractions(nominal).is_possible() {
            continue;
        }
        let message = format!("cylinder {:?} was filled and never analysed", cylinder.name.value);
        out.find(of_cylinder(look, &dive, carried, RULE.finding(fill.place.clone(), message), &fill.place, "the fill"));
    }
}
