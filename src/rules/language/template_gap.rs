//! `template-gap`: a plan leaves open what its template left for the day to tell.

use crate::findings::{Finding, Level};
use crate::plan::{Dive, Plan, Status};
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
    if plan.site.is_none() {
        say(plan, at_plan, "neither the plan nor its template says the site".to_owned(), None, out);
    }
    if plan.dives.is_empty() {
        say(plan, at_plan, "neither the plan nor its template has a dive".to_owned(), None, out);
    }
    for dive in &plan.dives {
        // The gap is closed in this plan, wherever the dive is written.
        let own = dive.name.place.file == *look.file;
        let place = if own { &dive.name.place } else { at_plan };
        let template = (!own).then_some(&dive.header);
        let name = &dive.name.value;
        if dive.divers.is_empty() {
            say(plan, place, format!("dive {name:?} has no diver"), template, out);
        }
        if lacks_legs(dive) {
            say(plan, place, format!("dive {name:?} has no legs: nothing says where it goes"), template, out);
        }
        for diver in dive.divers.iter().filter(|diver| diver.cylinders.is_empty()) {
            let own = diver.name.place.file == *look.file;
            let place = if own { &diver.name.place } else { place };
            let template = (!own).then_some(&diver.header);
            let who = &diver.name.value;
            say(plan, place, format!("diver {who:?} takes no cylinder on dive {name:?}"), template, out);
        }
    }
}

/// Whether somebody on a dive has nothing to do on it.
fn lacks_legs(dive: &Dive) -> bool {
    dive.legs.is_empty() && (dive.divers.is_empty() || dive.divers.iter().any(|diver| diver.legs.is_empty()))
}

fn say(plan: &Plan, place: &Place, message: String, template: Option<&Place>, out: &mut Out<'_>) {
    let level = if plan.status == Status::Draft { Level::Warning } else { RULE.level };
    let mut finding = Finding { level, ..RULE.finding(place.clone(), message) };
    if let Some(template) = template {
        finding = finding.with_related(template.clone(), "the template leaves it open here");
    }
    out.find(finding);
}
