//! `preparation-out-of-range`: a measured value of a preparation routine is out of its range.

use super::preparations;
use crate::findings::{Level, said};
use crate::physics::tolerance;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule = Rule::new(
    "preparation-out-of-range",
    Family::Team,
    Level::Error,
    include_str!("preparation_out_of_range.md"),
    look,
)
.safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    preparations::each(context, |one, routine, prepared| {
        for done in &prepared.done {
            let Some(step) = routine.steps.iter().find(|step| step.name.value == done.step.value) else { continue };
            let bounds = [step.from.as_ref().map(|from| from.value), step.to.as_ref().map(|to| to.value)];
            if bounds == [None, None] {
                continue;
            }
            let range = match bounds {
                [Some(from), Some(to)] => said!("{from} to {to}", from = say::number(from), to = say::number(to)),
                [Some(from), None] => said!("{from} or more", from = say::number(from)),
                [_, to] => said!("{to} or less", to = say::number(to.unwrap_or(0.0))),
            };
            let (place, message) = match &done.value {
                None => (
                    &done.step.place,
                    said!(
                        "step {step:?} asks for a value, {range}, and none is written",
                        step = done.step.value,
                        range
                    ),
                ),
                Some(value) => {
                    let low = bounds[0].is_some_and(|from| value.value < from - tolerance::WRITTEN);
                    let high = bounds[1].is_some_and(|to| value.value > to + tolerance::WRITTEN);
                    if !low && !high {
                        continue;
                    }
                    (
                        &value.place,
                        said!(
                            "step {step:?} was measured at {value}: {range} is in order",
                            step = done.step.value,
                            value = say::number(value.value),
                            range
                        ),
                    )
                }
            };
            let finding = RULE.finding(place.clone(), message).with_about(one.about());
            sink.find(finding.with_related(step.name.place.clone(), "the step"));
        }
    });
}
