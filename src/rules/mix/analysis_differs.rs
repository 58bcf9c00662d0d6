//! `analysis-differs`: a gas is not what was ordered.

use crate::findings::{Level, said};
use crate::physics::tolerance;
use crate::plan::as_of;
use crate::rules::dives::{cylinders_taken, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("analysis-differs", Family::Mix, Level::Warning, include_str!("analysis_differs.md"), look).safety();

/// Points between what was ordered and what was analysed that are let pass (common practice, no source).
const WARNING_POINTS: f64 = 1.0;
/// Points between them above which the fill is another gas (common practice, no source).
const ERROR_POINTS: f64 = 2.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, carried, cylinder) in cylinders_taken(context) {
        let Some(fill) = dive.day().and_then(|day| as_of(&cylinder.thing.fills, day)) else { continue };
        let (Some(nominal), Some(analysed)) = (&fill.what.nominal, &fill.what.analysed) else { continue };
        let gases =
            [("oxygen", nominal.o2_percent, analysed.o2_percent), ("helium", nominal.he_percent, analysed.he_percent)];
        let points = |(_, ordered, found): &(&str, f64, f64)| (found - ordered).abs();
        let Some(worst) = gases.iter().max_by(|a, b| points(a).total_cmp(&points(b))) else { continue };
        if points(worst) <= WARNING_POINTS + tolerance::WRITTEN {
            continue;
        }
        let (gas, ordered, found) = *worst;
        let message = said!(
            "cylinder {cylinder:?} was ordered with {ordered} % {gas} and analysed at {found} %, {points} points apart",
            cylinder = cylinder.name.value,
            ordered = say::number(ordered),
            found = say::number(found),
            points = say::number(points(worst)),
            gas
        );
        let place = &analysed.place;
        let mut finding =
            of_cylinder(context, &dive, carried, RULE.finding(place.clone(), message), place, "the analysis");
        if points(worst) > ERROR_POINTS + tolerance::WRITTEN {
            finding.level = Level::Error;
        }
        sink.find(finding.with_related(nominal.place.clone(), "what was ordered"));
    }
}
