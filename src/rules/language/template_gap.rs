//! `template-gap`: a plan leaves open what its template left for the day to tell.

use crate::findings::{Finding, Level, Said, said};
use crate::plan::{Dive, Gap, Plan, Status};
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::Place;

/// The rule. A plan that is still a draft may have gaps for a while: a warning there.
pub(crate) const RULE: Rule =
    Rule::new("template-gap", Family::Language, Level::Error, include_str!("template_gap.md"), look)
        .at(&[Status::Draft, Status::Ready]);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    for open in &plan.open {
        let part = open.part.as_ref();
        let said = match part {
            Some(part) => said!("`{part}=` of `{word}` is still to be answered", part, word = open.word),
            None => said!("`{word}` is still to be answered", word = open.word),
        };
        let own = open.place.file == *context.file;
        let place = if own { &open.place } else { &plan.name.place };
        say(plan, place, said, (!own).then_some(&open.place), sink);
    }
    // A template that could not be found leaves everything open, and has a finding of its own.
    if plan.from.is_none() || plan.template_limits.is_none() {
        return;
    }
    let at_plan = &plan.name.place;
    for gap in plan.gaps() {
        // The gap is closed in this plan, wherever the dive or the diver is written.
        let own = |place: &Place| place.file == *context.file;
        let at_dive = |dive: &Dive| if own(&dive.name.place) { dive.name.place.clone() } else { at_plan.clone() };
        let (place, template) = match gap {
            Gap::Site | Gap::Dives => (at_plan.clone(), None),
            Gap::Divers(dive) | Gap::Legs(dive) => (at_dive(dive), (!own(&dive.name.place)).then_some(&dive.header)),
            Gap::Cylinders(_, diver) if own(&diver.name.place) => (diver.name.place.clone(), None),
            Gap::Cylinders(dive, diver) => (at_dive(dive), Some(&diver.header)),
        };
        say(plan, &place, gap.words(), template, sink);
    }
}

fn say(plan: &Plan, place: &Place, message: Said, template: Option<&Place>, sink: &mut Sink<'_>) {
    let level = if plan.status == Status::Draft { Level::Warning } else { RULE.level };
    let mut finding = Finding { level, ..RULE.finding(place.clone(), message) };
    if let Some(template) = template {
        finding = finding.with_related(template.clone(), "the template leaves it open here");
    }
    sink.find(finding);
}
