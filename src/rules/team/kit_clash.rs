//! `kit-clash`: a cylinder or a unit is taken twice at the same time.

use std::collections::BTreeMap;

use super::in_common::{Common, things};
use crate::findings::{About, Level};
use crate::forecast::Timed;
use crate::forecast::dives::DiverDive;
use crate::plan::{NameUse, TeamMember};
use crate::rules::dives;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("kit-clash", Family::Team, Level::Error, include_str!("kit_clash.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    on_one_dive(context, sink);
    if context.beside.is_empty() && context.plan.is_none_or(|plan| plan.dives.len() < 2) {
        return;
    }
    let timeline = context.timeline();
    for (number, dive) in timeline.own.iter().enumerate() {
        for other in timeline.own.iter().take(number).chain(&timeline.beside) {
            at_once(context, dive, other, sink);
        }
    }
}

/// What two dives have in common while both are under water.
fn at_once(context: &Context<'_>, dive: &Timed<'_>, other: &Timed<'_>, sink: &mut Sink<'_>) {
    let common = things(dive.dive, other.dive);
    let Some((first, more)) = common.split_first() else { return };
    match dive.overlaps(other) {
        Some(false) => return,
        Some(true) => {}
        None => {
            // Dives of one plan that say no times are dived one after the other.
            if other.plan.file != dive.plan.file {
                sink.lacks_all(dive.lacks());
            }
            return;
        }
    }
    let message = format!(
        "{} {} on {} too, {}: this dive goes {}",
        listed(&common),
        if more.is_empty() { "is" } else { "are" },
        other.named_from(dive.plan),
        other.told(),
        dive.told()
    );
    // What the plan itself says rather than what its template does.
    let place = common.iter().map(|common| common.here).find(|place| place.file == *context.file).unwrap_or(first.here);
    let about =
        About { plan: Some(dive.plan.file.clone()), dive: Some(dive.dive.name.value.clone()), ..About::default() };
    let finding = RULE.finding(place.clone(), message).with_about(about);
    let mut finding = dives::said_at(context, dive.plan, finding, place);
    for common in std::iter::once(first).chain(more) {
        finding = finding.with_related(common.there.clone(), format!("{} on the other dive", common.what));
    }
    sink.find(finding);
}

/// `Rowan, unit "fen-3" and cylinder "S12-04"`.
fn listed(common: &[Common<'_, '_>]) -> String {
    let names: Vec<&str> = common.iter().map(|common| &*common.what).collect();
    match names.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

/// What two divers of one dive both take, or one takes twice.
fn on_one_dive(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    for first in &plan.dives {
        for dive in std::iter::once(first).chain(&first.otherwise) {
            let mut taken: BTreeMap<(&str, &str), (&TeamMember, &NameUse)> = BTreeMap::new();
            for member in &dive.divers {
                let unit = member.unit_name.iter().map(|name| ("unit", name));
                let cylinders = member.cylinders.iter().map(|carried| ("cylinder", &carried.name));
                for (what, name) in unit.chain(cylinders) {
                    let Some((other, before)) = taken.insert((what, &*name.value), (member, name)) else { continue };
                    if what == "cylinder" && member.shares(other).any(|shared| shared == name.value) {
                        continue;
                    }
                    let one = DiverDive { plan, dive, member };
                    let message = if other.name.value == member.name.value {
                        format!("{} takes {what} {:?} twice", *member.name, name.value)
                    } else {
                        format!("{} and {} both take {what} {:?}", *other.name, *member.name, name.value)
                    };
                    let finding = RULE.finding(name.place.clone(), message).with_about(one.about());
                    sink.find(finding.with_related(before.place.clone(), "taken here before"));
                }
            }
        }
    }
}
