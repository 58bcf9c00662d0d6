//! `altitude-not-acclimatised`: a diver is new at a site that lies high.

use std::collections::BTreeSet;

use crate::findings::{Level, said};
use crate::forecast;
use crate::physics::tissues::ALTITUDE_COUNTS_M;
use crate::rules::dives;
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::run::Body;

/// The rule.
pub(crate) const RULE: Rule = Rule::new(
    "altitude-not-acclimatised",
    Family::Exposure,
    Level::Warning,
    include_str!("altitude_not_acclimatised.md"),
    look,
)
.safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let mut told = BTreeSet::new();
    for dive in dives::all(context) {
        let Some(altitude) = dive.plan.site.as_ref().and_then(|site| site.altitude_m.as_ref()) else { continue };
        let lives = dive.diver().and_then(|diver| diver.lives_altitude_m.as_ref()).map_or(0.0, |lives| lives.value);
        let used_to = forecast::body_at_rest(&dive).tissues == Body::at_rest(dive.water().surface_bar).tissues;
        if altitude.value <= ALTITUDE_COUNTS_M || altitude.value - lives < ALTITUDE_COUNTS_M || used_to {
            continue;
        }
        let who = &dive.member.name;
        if !told.insert(who.value.clone()) {
            continue;
        }
        let message = said!(
            "{diver} comes from {lives} m to {altitude} m and is not known to have been there for a day",
            diver = **who,
            lives = say::number(lives),
            altitude = say::number(altitude.value)
        );
        let mut finding = RULE.finding(who.place.clone(), message).with_about(dive.about());
        finding.about.dive = None;
        sink.find(finding.with_related(altitude.place.clone(), "the site"));
    }
}
