//! `preparation-open`: a preparation routine was begun and is not done.

use super::preparations;
use crate::findings::Level;
use crate::plan::RoutineStep;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "preparation-open",
    family: Family::Team,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: TO_DIVE,
    page: include_str!("preparation_open.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    preparations::each(look, |one, routine, prepared| {
        let is_done = |step: &&RoutineStep| !prepared.done.iter().any(|done| done.step.value == step.name.value);
        let open: Vec<String> =
            routine.steps.iter().filter(is_done).map(|step| format!("{:?}", step.name.value)).collect();
        if !open.is_empty() {
            let message = format!("{} has not done {} of the routine", *prepared.diver, open.join(", "));
            out.find(RULE.finding(prepared.place.clone(), message).with_about(one.about()));
        }
    });
}
