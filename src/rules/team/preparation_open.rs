//! `preparation-open`: a preparation routine was begun and is not done.

use super::preparations;
use crate::findings::{Level, Named, said};
use crate::plan::RoutineStep;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("preparation-open", Family::Team, Level::Warning, include_str!("preparation_open.md"), look);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    preparations::each(context, |one, routine, prepared| {
        let is_done = |step: &&RoutineStep| !prepared.done.iter().any(|done| done.step.value == step.name.value);
        let open: Vec<String> = routine.steps.iter().filter(is_done).map(|step| step.name.value.clone()).collect();
        if !open.is_empty() {
            let message = said!(
                "{diver} has not done {open} of the routine",
                diver = *prepared.diver,
                open = Named::quoted(open)
            );
            sink.find(RULE.finding(prepared.place.clone(), message).with_about(one.about()));
        }
    });
}
