//! `analysis-missing`: a gas was not analysed.

use crate::findings::{Level, said};
use crate::forecast::dives::fractions;
use crate::plan::as_of;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::source::Place;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("analysis-missing", Family::Mix, Level::Error, include_str!("analysis_missing.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(context) {
        let Some(fill) = dive.day().and_then(|day| as_of(&cylinder.thing.fills, day)) else { continue };
        let related = |finding, place: &Place| of_cylinder(context, &dive, carried, finding, place, "the fill");
        if let (Some(nominal), Some(analysed)) = (&fill.what.nominal, &fill.what.analysed)
            && nominal.he_percent > 0.0
            && !fill.what.helium_analysed
        {
            let message = said!(
                "cylinder {cylinder:?} was ordered with {ordered} % helium, which was not analysed (`analysed-he=`): stops \
                 and END go by what was ordered",
                cylinder = cylinder.name.value,
                ordered = say::number(nominal.he_percent)
            );
            let mut finding = RULE.finding(analysed.place.clone(), message);
            finding.level = Level::Warning;
            sink.find(related(finding, &analysed.place));
        }
        // A fill that says no mix at all lacks a fact, and one that can't be has a rule of its own.
        let Some(nominal) = fill.what.nominal.as_ref().filter(|_| fill.what.analysed.is_none()) else { continue };
        if !fractions(nominal).is_possible() {
            continue;
        }
        let message = said!("cylinder {cylinder:?} was filled and never analysed", cylinder = cylinder.name.value);
        sink.find(related(RULE.finding(fill.place.clone(), message), &fill.place));
    }
}
