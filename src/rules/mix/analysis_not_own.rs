//! `analysis-not-own`: a gas was not analysed by the diver who breathes it, where the house asks for that.

use crate::findings::{Level, said};
use crate::plan::as_of;
use crate::rules::dives::{self, of_cylinder};
use crate::rules::{Context, Family, Rule, Sink};
use crate::words::{Amount, LimitName};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("analysis-not-own", Family::Mix, Level::Error, include_str!("analysis_not_own.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        let asked = dive.plan.limits.amount(LimitName::AnalysisOwn);
        if asked.as_ref().and_then(Amount::yes) != Some(true) {
            continue;
        }
        let diver = &dive.member.name.value;
        for carried in &dive.member.cylinders {
            let Some(cylinder) = &carried.cylinder else { continue };
            let Some(fill) = dive.day().and_then(|day| as_of(&cylinder.thing.fills, day)) else { continue };
            // Of a gas that nobody analysed another rule speaks.
            if fill.what.analysed.is_none() {
                continue;
            }
            let name = &cylinder.name.value;
            let (message, place) = match &fill.what.analysed_by {
                Some(by) if by.value == *diver => continue,
                Some(by) => {
                    let message = said!(
                        "cylinder {cylinder:?} was analysed by {by}, and {diver} breathes from it",
                        cylinder = *name,
                        by = by.value,
                        diver = *diver
                    );
                    (message, &by.place)
                }
                None => {
                    let message = said!(
                        "nobody says who analysed cylinder {cylinder:?}: {diver}, who breathes from it, should",
                        cylinder = *name,
                        diver = *diver
                    );
                    (message, &fill.place)
                }
            };
            sink.find(of_cylinder(
                context,
                &dive,
                carried,
                RULE.finding(place.clone(), message),
                place,
                "the analysis",
            ));
        }
    }
}
