//! `kit-clash`: a cylinder or a unit is taken twice at the same time.

use std::collections::BTreeMap;

use super::in_common::{Common, things};
use crate::findings::{About, Level, Named, Wording, said};
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
    let message = said!(
        "{common} {verb} on {other} too, {other_goes}: this dive goes {goes}",
        common = listed(&common),
        verb = Wording(if more.is_empty() { "is" } else { "are" }),
        other = other.named_from(dive.plan),
        other_goes = other.told(),
        goes = dive.told()
    );
    // What the plan itself says rather than what its template does.
    let place = common.iter().map(|common| common.here).find(|place| place.file == *context.file).unwrap_or(first.here);
    let about =
        About { plan: Some(dive.plan.file.clone()), dive: Some(dive.dive.name.value.clone()), ..About::default() };
    let finding = RULE.finding(place.clone(), message).with_about(about);
    let mut finding = dives::said_at(context, dive.plan, finding, place);
    for common in std::iter::once(first).chain(more) {
        finding = finding.with_related(common.there.clone(), format!("{} on the other dive", common.what()));
    }
    sink.find(finding);
}

/// `Rowan, unit "fen-3" and cylinder "S12-04"`.
fn listed(common: &[Common<'_, '_>]) -> Named {
    let what: Vec<String> = common.iter().map(Common::what).collect();
    let text = match what.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    };
    Named::new(common.iter().map(|common| common.name.to_owned()).collect(), text)
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
                        said!("{diver} takes {what} {thing:?} twice", diver = *member.name, thing = name.value, what)
                    } else {
                        said!(
                            "{diver} and {too} both take {what} {thing:?}",
                            diver = *other.name,
                            too = *member.name,
                            thing = name.value,
                            what
                        )
                    };
                    let finding = RULE.finding(name.place.clone(), message).with_about(one.about());
                    sink.find(finding.with_related(before.place.clone(), "taken here before"));
                }
            }
        }
    }
}
