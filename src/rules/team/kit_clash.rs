//! `kit-clash`: a cylinder or a unit is taken twice at the same time.

use std::collections::BTreeMap;

use super::in_common::{Taken, taken};
use crate::findings::{About, Finding, Level, Named, Wording, said};
use crate::forecast::Timed;
use crate::forecast::dives::DiverDive;
use crate::plan::{NameUse, TeamMember};
use crate::rules::dives;
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::Place;

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
        at_once(context, dive, timeline.own.iter().take(number).chain(&timeline.beside), sink);
    }
}

/// A thing that a dive takes, and the other dives that it is on at the same time: one at least.
#[derive(Debug, Clone)]
struct Clash<'t, 'a> {
    here: Taken<'a>,
    others: Vec<&'t Timed<'a>>,
    /// Where the first of them takes it.
    there: &'a Place,
}

impl Clash<'_, '_> {
    fn is_with_those_of(&self, other: &Clash<'_, '_>) -> bool {
        let pairs = || self.others.iter().zip(&other.others);
        self.others.len() == other.others.len() && pairs().all(|(one, other)| std::ptr::eq(*one, *other))
    }
}

/// What a dive takes that is on others while both are under water: each thing is told of once, however many they are, and
/// with it all that is on the same ones.
fn at_once<'t, 'a>(
    context: &Context<'a>,
    dive: &'t Timed<'a>,
    others: impl Iterator<Item = &'t Timed<'a>>,
    sink: &mut Sink<'_>,
) {
    let own: Vec<Taken<'a>> = taken(dive.dive).collect();
    let mut clashes: Vec<Clash<'t, 'a>> = Vec::new();
    let mut unknown = false;
    for other in others {
        let overlaps = dive.overlaps(other);
        if overlaps == Some(false) {
            continue;
        }
        let theirs: Vec<Taken<'a>> = taken(other.dive).collect();
        for here in &own {
            let Some(there) = theirs.iter().find(|there| here.clashes(there)) else { continue };
            if overlaps.is_none() {
                // Dives of one plan that say no times are dived one after the other.
                unknown |= other.plan.file != dive.plan.file;
                continue;
            }
            match clashes.iter_mut().find(|clash| clash.here.is_of_thing_of(here)) {
                Some(clash) if clash.others.last().is_some_and(|last| std::ptr::eq(*last, other)) => {}
                Some(clash) => clash.others.push(other),
                None => clashes.push(Clash { here: *here, others: vec![other], there: &there.name.place }),
            }
        }
    }
    if unknown {
        sink.lacks_all(dive.lacks());
    }
    while let Some(first) = clashes.first() {
        let (same, rest): (Vec<_>, Vec<_>) = clashes.iter().cloned().partition(|clash| clash.is_with_those_of(first));
        sink.find(told(context, dive, &same));
        clashes = rest;
    }
}

/// The finding of things that are on the same other dives.
fn told(context: &Context<'_>, dive: &Timed<'_>, clashes: &[Clash<'_, '_>]) -> Finding {
    let others = clashes.first().map_or(&[][..], |clash| &clash.others);
    let goes = others.first().map_or_else(|| said!(""), |other| other.told());
    let other_goes = match others.len() {
        0 | 1 => goes,
        _ => said!("{goes}, and on {more} more", goes, more = others.len() - 1),
    };
    let message = said!(
        "{common} {verb} on {other} too, {other_goes}: this dive goes {goes}",
        common = listed(clashes),
        verb = Wording(if clashes.len() == 1 { "is" } else { "are" }),
        other = others.first().map_or_else(|| said!(""), |other| other.named_from(dive.plan)),
        other_goes,
        goes = dive.told()
    );
    // What the plan itself says rather than what its template does.
    let places = || clashes.iter().map(|clash| &clash.here.name.place);
    let place = places().find(|place| place.file == *context.file).or(places().next()).unwrap_or(&dive.dive.header);
    let about =
        About { plan: Some(dive.plan.file.clone()), dive: Some(dive.dive.name.value.clone()), ..About::default() };
    let finding = RULE.finding(place.clone(), message).with_about(about);
    let mut finding = dives::said_at(context, dive.plan, finding, place);
    for clash in clashes {
        finding = finding.with_related(clash.there.clone(), format!("{} on the other dive", clash.here.what()));
    }
    finding
}

/// `Rowan, unit "fen-3" and cylinder "S12-04"`.
fn listed(clashes: &[Clash<'_, '_>]) -> Named {
    let what: Vec<String> = clashes.iter().map(|clash| clash.here.what()).collect();
    let text = match what.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    };
    Named::new(clashes.iter().map(|clash| clash.here.name.value.clone()).collect(), text)
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
