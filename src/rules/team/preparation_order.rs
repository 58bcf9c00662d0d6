//! `preparation-order`: steps of a preparation routine were done out of order.

use super::preparations;
use crate::findings::{Level, said};
use crate::plan::Done;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("preparation-order", Family::Team, Level::Warning, include_str!("preparation_order.md"), look);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    preparations::each(context, |one, routine, prepared| {
        let number = |done: &Done| routine.steps.iter().position(|step| step.name.value == done.step.value);
        let known: Vec<(usize, &Done)> = prepared.done.iter().filter_map(|done| Some((number(done)?, done))).collect();
        for pair in known.windows(2) {
            let [(before, first), (after, second)] = pair else { continue };
            let at = |done: &Done| done.at.as_ref().map(|at| at.value);
            let earlier = at(first).zip(at(second)).is_some_and(|(first, second)| second < first);
            if after > before && !earlier {
                continue;
            }
            let message = said!(
                "step {step:?} was done after {after:?}, which the routine has later",
                step = second.step.value,
                after = first.step.value
            );
            let message = if earlier && after > before {
                said!(
                    "step {step:?} was signed earlier than {earlier:?}, which the routine has before it",
                    step = second.step.value,
                    earlier = first.step.value
                )
            } else {
                message
            };
            let finding = RULE.finding(second.step.place.clone(), message).with_about(one.about());
            sink.find(finding.with_related(first.step.place.clone(), "the other step"));
        }
    });
}
