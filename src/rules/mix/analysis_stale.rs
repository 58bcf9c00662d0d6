//! `analysis-stale`: a gas was analysed before it was filled.

use crate::findings::Level;
use crate::plan::as_of;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "analysis-stale",
    family: Family::Mix,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("analysis_stale.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(look) {
        let Some(fill) = dive.day().and_then(|day| as_of(&cylinder.thing.fills, day)) else { continue };
        let (Some(filled), Some(analysed)) = (&fill.on, &fill.what.analysed_on) else { continue };
        if analysed.value >= filled.value {
            continue;
        }
        let message = format!(
            "cylinder {:?} was analysed on {} and filled on {}: the analysis is of what was in it before",
            cylinder.name.value, analysed.value, filled.value
        );
        let place = &analysed.place;
        let finding = of_cylinder(look, &dive, carried, RULE.finding(place.clone(), message), place, "the analysis");
        out.find(finding.with_related(filled.place.clone(), "the fill"));
    }
}
