//! `usual-value`: a plan goes by a value that is a guess.

use crate::findings::{Level, said};
use crate::forecast::dives::DiverDive;
use crate::plan::lower::ThingKind;
use crate::plan::{Defined, Status};
use crate::rules::dives::{self, caused};
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::{Place, Placed};

/// The rule. A plan that claims to be ready lacks the facts instead: whatever goes by them is not checked.
pub(crate) const RULE: Rule =
    Rule::new("usual-value", Family::Language, Level::Note, include_str!("usual_value.md"), look);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let mut told: Vec<&Place> = Vec::new();
    for dive in dives::all(context) {
        let member = dive.member;
        if let (Some(unit), Some(name)) = (dive.unit(), &member.unit_name) {
            each(context, &dive, (ThingKind::Unit, unit), &name.place, &mut told, sink);
            for bed in &unit.thing.beds {
                if let Some(canister) = context.scope.canisters.get(&bed.canister.value) {
                    each(context, &dive, (ThingKind::Canister, canister), &name.place, &mut told, sink);
                }
            }
        }
        if let Some(diver) = &member.diver {
            each(context, &dive, (ThingKind::Diver, diver), &member.name.place, &mut told, sink);
        }
    }
}

fn each<'a, T>(
    context: &Context<'a>,
    dive: &DiverDive<'a>,
    (kind, thing): (ThingKind, &'a Defined<T>),
    taken: &Place,
    told: &mut Vec<&'a Place>,
    sink: &mut Sink<'_>,
) {
    for Placed { value: word, place } in &thing.usual {
        if told.contains(&place) {
            continue;
        }
        told.push(place);
        if dive.plan.status == Status::Ready {
            sink.lacks(
                place.clone(),
                format!("what is measured or the maker's of `{word}` of {kind} {:?}", thing.name.value),
            );
            continue;
        }
        let message = said!(
            "`{word}` of {kind} {name:?} is a usual value, neither measured nor the maker's",
            word,
            kind,
            name = thing.name.value
        );
        let finding = RULE.finding(place.clone(), message).with_about(dive.about());
        let mut finding = caused(context, finding, place, taken, "the value");
        (finding.about.dive, finding.about.diver) = (None, None);
        sink.find(finding);
    }
}
