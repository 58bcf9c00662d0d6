//! `fitness-expired`: a diver is not fit to dive on the day.

use std::collections::BTreeSet;

use crate::findings::{Level, said};
use crate::rules::dives;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("fitness-expired", Family::Team, Level::Error, include_str!("fitness_expired.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let mut told = BTreeSet::new();
    for dive in dives::all(context) {
        let (Some(diver), Some(day), who) = (dive.diver(), &dive.plan.on, &dive.member.name) else { continue };
        if !told.insert(who.value.clone()) {
            continue;
        }
        let Some(until) = &diver.fit_until else {
            sink.lacks(who.place.clone(), format!("`fit until=` of diver {:?}", **who));
            continue;
        };
        if until.value >= day.value {
            continue;
        }
        let message = said!(
            "{diver} is fit until {until}: the dive is on {on}",
            diver = **who,
            until = until.value,
            on = day.value
        );
        let mut finding = RULE.finding(until.place.clone(), message).with_about(dive.about());
        finding.about.dive = None;
        let finding = dives::caused(context, finding, &until.place, &who.place, "the examination");
        sink.find(finding.with_related(day.place.clone(), "the day of the dive"));
    }
}
