//! `reverse-profile`: a later dive of the day goes deeper than an earlier one.

use std::collections::BTreeSet;

use crate::findings::Level;
use crate::rules::dives::OneDive;
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "reverse-profile",
    family: Family::Exposure,
    level: Level::Note,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: TO_DIVE,
    page: include_str!("reverse_profile.md"),
    look,
};

/// As much deeper is deeper, metres.
const DEEPER_M: f64 = 1.0;

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    let Some(plan) = look.plan else { return };
    let mut told = BTreeSet::new();
    for (number, dive) in plan.dives.iter().enumerate() {
        for member in &dive.divers {
            let now = OneDive { plan, dive, member };
            let Some(depth) = now.deepest() else { continue };
            let earlier = plan.dives.iter().take(number).flat_map(|dive| {
                dive.divers.iter().filter(|other| other.name.value == member.name.value).map(move |member| OneDive {
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
            out.find(finding.with_related(was.place.clone(), "the earlier dive"));
        }
    }
}
