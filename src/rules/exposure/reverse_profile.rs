//! `reverse-profile`: a later dive of the day goes deeper than an earlier one.

use std::collections::BTreeSet;

use crate::findings::Level;
use crate::forecast::dives::DiverDive;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("reverse-profile", Family::Exposure, Level::Note, include_str!("reverse_profile.md"), look);

/// As much deeper is deeper, metres.
const DEEPER_M: f64 = 1.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    let mut told = BTreeSet::new();
    for (number, dive) in plan.dives.iter().enumerate() {
        for member in &dive.divers {
            let now = DiverDive { plan, dive, member };
            let Some(depth) = now.deepest() else { continue };
            let earlier = plan.dives.iter().take(number).flat_map(|dive| {
                dive.divers.iter().filter(|other| other.name.value == member.name.value).map(move |member| DiverDive {
                    plan,
                    dive,
                    member,
                })
            });
            let shallower = earlier.filter_map(|before| Some((before, before.deepest()?)));
            let Some((before, was)) = shallower.max_by(|a, b| a.1.value.total_cmp(&b.1.value)) else { continue };
            if depth.value <= was.value + DEEPER_M || !told.insert(depth.place.clone()) {
                continue;
            }
            let message = format!(
                "{} m is deeper than the {} m of dive {:?} before it",
                say::number(depth.value),
                say::number(was.value),
                before.dive.name.value
            );
            let mut finding = RULE.finding(depth.place.clone(), message).with_about(now.about());
            finding.about.diver = None;
            sink.find(finding.with_related(was.place.clone(), "the earlier dive"));
        }
    }
}
