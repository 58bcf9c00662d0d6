//! `waiver-without-reason`: an `allow`, or a lowered level, that does not say why.

use crate::findings::Level;
use crate::rules::{Family, Look, Mends, Out, Rule, find};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "waiver-without-reason",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: false,
    safety: true,
    statuses: &[],
    page: include_str!("waiver_without_reason.md"),
    look,
};

fn look(at: &Look<'_>, out: &mut Out<'_>) {
    for waiver in at.waivers.iter().filter(|waiver| waiver.reason().is_none()) {
        let message = format!("waives {} without saying why: it waives nothing until `because=` does", *waiver.rule);
        out.find(RULE.finding(waiver.place.clone(), message));
    }
    for level in at.scope.house.levels.iter().filter(|level| level.place.file == *at.file) {
        let Some(rule) = find(&level.rule) else { continue };
        let silent = level.because.as_ref().is_none_or(|because| because.trim().is_empty());
        if rule.safety && rule.waivable && level.level.value < rule.level && silent {
            let message = format!(
                "lowers {} from {} to {} without saying why: it stays as it is until `because=` does",
                rule.slug,
                rule.level.word(),
                level.level.value.word()
            );
            out.find(RULE.finding(level.place.clone(), message));
        }
    }
}
