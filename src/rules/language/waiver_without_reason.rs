//! `waiver-without-reason`: an `allow`, or a lowered level, that does not say why.

use crate::findings::{Level, said};
use crate::rules::{ANY_FILE, Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("waiver-without-reason", Family::Language, Level::Error, include_str!("waiver_without_reason.md"), look)
        .never_waived()
        .safety()
        .at(ANY_FILE);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for waiver in context.waivers.iter().filter(|waiver| waiver.reason().is_none()) {
        let message =
            said!("waives {rule} without saying why: it waives nothing until `because=` does", rule = *waiver.rule);
        sink.find(RULE.finding(waiver.place.clone(), message));
    }
    for level in context.scope.house.levels.iter().filter(|level| level.place.file == *context.file) {
        let Some(rule) = context.rule(&level.rule) else { continue };
        let silent = level.because.as_ref().is_none_or(|because| because.trim().is_empty());
        if rule.safety && rule.waivable && level.level.value < rule.level && silent {
            let message = said!(
                "lowers {rule} from {level} to {to} without saying why: it stays as it is until `because=` does",
                rule = rule.slug,
                level = rule.level.word(),
                to = level.level.value.word()
            );
            sink.find(RULE.finding(level.place.clone(), message));
        }
    }
}
