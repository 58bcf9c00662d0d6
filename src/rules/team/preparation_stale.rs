//! `preparation-stale`: a step of a preparation routine was done long before the dive, or after it began.

use super::preparations;
use crate::findings::{Level, said};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("preparation-stale", Family::Team, Level::Warning, include_str!("preparation_stale.md"), look);

/// A step that was done earlier than this before the dive is stale, hours (common practice, no source).
pub(crate) const FRESH_H: f64 = 4.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    preparations::each(context, |one, _, prepared| {
        let Some(begins) = &one.dive.at else { return };
        let hours = |time: jiff::civil::Time| f64::from(time.hour()) + f64::from(time.minute()) / 60.0;
        for done in &prepared.done {
            let Some(at) = &done.at else { continue };
            let before = hours(begins.value) - hours(at.value);
            if (0.0..=FRESH_H).contains(&before) {
                continue;
            }
            let message = if before < 0.0 {
                said!("step {step:?} was signed after the dive began", step = done.step.value)
            } else {
                said!(
                    "step {step:?} was done {hours} h before the dive: {most} h are the most",
                    step = done.step.value,
                    hours = say::number(say::up(before, 0.1)),
                    most = say::number(FRESH_H)
                )
            };
            let finding = RULE.finding(at.place.clone(), message).with_about(one.about());
            sink.find(finding.with_related(begins.place.clone(), "the dive begins"));
        }
    });
}
