//! `analysis-stale`: a gas was analysed before it was filled.

use crate::findings::{Level, said};
use crate::plan::as_of;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("analysis-stale", Family::Mix, Level::Error, include_str!("analysis_stale.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(context) {
        let Some(fill) = dive.day().and_then(|day| as_of(&cylinder.thing.fills, day)) else { continue };
        let (Some(filled), Some(analysed)) = (&fill.on, &fill.what.analysed_on) else { continue };
        if analysed.value >= filled.value {
            continue;
        }
        let message = said!(
            "cylinder {cylinder:?} was analysed on {analysed} and filled on {filled}: the analysis is of what was in it before",
            cylinder = cylinder.name.value,
            analysed = analysed.value,
            filled = filled.value
        );
        let place = &analysed.place;
        let finding = of_cylinder(context, &dive, carried, RULE.finding(place.clone(), message), place, "the analysis");
        sink.find(finding.with_related(filled.place.clone(), "the fill"));
    }
}
