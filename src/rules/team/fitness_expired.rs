//! `fitness-expired`: a diver is not fit to dive on the day.

use std::collections::BTreeSet;

use crate::findings::Level;
use crate::rules::dives;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "fitness-expired",
    family: Family::Team,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("fitness_expired.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    let mut told = BTreeSet::new();
    for dive in dives::all(look) {
        let (Some(diver), Some(day), who) = (dive.diver(), &dive.plan.on, &dive.member.name) else { continue };
        if !told.insert(who.value.clone()) {
            continue;
        }
        let Some(until) = &diver.fit_until else {
            out.lacks(who.place.clone(), format!("`fit until=` of diver {:?}", **who));
            continue;
        };
        if until.value >= day.value {
            continue;
        }
        let message = format!("{} is fit until {}: the dive is on {}", **who, until.value, day.value);
        let mut finding = RULE.finding(until.place.clone(), message).with_about(dive.about());
        finding.about.dive = None;
        let finding = dives::caused(look, finding, &until.place, &who.place, "the examination");
        out.find(finding.with_related(day.place.clone(), "the day of the dive"));
    }
}
