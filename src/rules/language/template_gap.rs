//! `template-gap`: a plan leaves open what its template left for the day to tell.

use crate::findings::{Finding, Level};
use crate::plan::{Dive, Gap, Plan, Status};
use crate::rules::{Family, Look, Mends, Out, Rule};
use crate::source::Place;

/// The rule. A plan that is still a draft may have gaps for a while: a warning there.
pub const RULE: Rule = Rule {
    slug: "template-gap",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: &[Status::Draft, Status::Ready],
    page: include_str!("template_gap.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    let Some(plan) = look.plan else { return };
    // A template that could not be found leaves everything open, and has a finding of its own.
    if plan.from.is_none() || plan.template_limits.is_none() {
        return;
    }
    let at_plan = &plan.name.place;
    for gap in plan.gaps() {
        // The gap is closed in this plan, wherever the dive or the diver is written.
        let own = |place: &Place| place.file == *look.file;
        let at_dive = |dive: &Dive| if own(&dive.name.place) { dive.name.place.clone() } else { at_plan.clone() };
        let (place, template) = match gap {
            Gap::Site | Gap::Dives => (at_plan.clone(), None),
            Gap::Divers(dive) | Gap::Legs(dive) => (at_dive(dive), (!own(&dive.name.place)).then_some(&dive.header)),
            Gap::Cylinders(_, diver) if own(&diver.name.place) => (diver.name.place.clone(), None),
            Gap::Cylinders(dive, diver) => (at_dive(dive), Some(&diver.header)),
        };
        say(plan, &place, gap.words(), template, out);
    }
}

fn say(plan: &Plan, place: &Place, message: String, template: Option<&Place>, out: &mut Out<'_>) {
    let level = if plan.status == Status::Draft { Level::Warning } else { RULE.level };
    let mut finding = Finding { level, ..RULE.finding(place.clone(), message) };
    if let Some(template) = template {
        finding = finding.with_related(template.clone(), "the template leaves it open here");
    }
    out.find(finding);
}
