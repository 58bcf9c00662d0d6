//! `preparation-stale`: a step of a preparation routine was done long before the dive, or after it began.

use super::preparations;
use crate::findings::Level;
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
                format!("step {:?} was signed after the dive began", done.step.value)
            } else {
                format!(
                    "step {:?} was done {} h before the dive: {} h are the most",
                    done.step.value,
                    say::number(say::up(before, 0.1)),
                    say::number(FRESH_H)
                )
            };
            let finding = RULE.finding(at.place.clone(), message).with_about(one.about());
            sink.find(finding.with_related(begins.place.clone(), "the dive begins"));
        }
    });
}
