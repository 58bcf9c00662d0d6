//! `reverse-profile`: a later dive of the day goes deeper than an earlier one.

use std::collections::BTreeSet;

use crate::findings::{Level, said};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("reverse-profile", Family::Exposure, Level::Note, include_str!("reverse_profile.md"), look);

/// As much deeper is deeper, metres.
const DEEPER_M: f64 = 1.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    if plan.dives.len() < 2 && context.earlier.is_empty() {
        return;
    }
    let timeline = context.timeline();
    let mut told = BTreeSet::new();
    for (number, dive) in timeline.own.iter().enumerate() {
        for diver in &dive.divers {
            let now = &diver.dive;
            let Some(depth) = now.deepest() else { continue };
            // Of this plan those above it, of others those of the same day.
            let of_day = timeline.before.iter().filter(|other| other.day() == dive.day());
            let earlier = of_day.chain(timeline.own.iter().take(number)).flat_map(|other| {
                let same = other.divers.iter().filter(|one| one.dive.member.name.value == now.member.name.value);
                same.filter_map(move |one| Some((other, one.dive.deepest()?)))
            });
            let Some((before, was)) = earlier.max_by(|a, b| a.1.value.total_cmp(&b.1.value)) else { continue };
            if depth.value <= was.value + DEEPER_M || !told.insert(depth.place.clone()) {
                continue;
            }
            let message = said!(
                "{depth} m is deeper than the {was} m of {before} before it",
                depth = say::number(depth.value),
                was = say::number(was.value),
                before = before.named_from(plan)
            );
            let mut finding = RULE.finding(depth.place.clone(), message).with_about(now.about());
            finding.about.diver = None;
            sink.find(finding.with_related(was.place.clone(), "the earlier dive"));
        }
    }
}
