//! `not-simulated`: a dive could not be run, so that nothing is known of its gas, its stops and what may go wrong.

use std::collections::BTreeSet;

use crate::findings::{Level, Said, said};
use crate::forecast::Missing;
use crate::forecast::dives::{self, DiverDive};
use crate::plan::Status;
use crate::rules::dives::said_at;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, usual};

/// The rule. It looks last: where a dive's own defect is told already, that is what stands against it.
pub(crate) const RULE: Rule =
    Rule::new("not-simulated", Family::Language, Level::Warning, include_str!("not_simulated.md"), look)
        .safety()
        .fixes(FixAvailability::Sometimes)
        .at(&[Status::Draft, Status::Ready]);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    let mut facts: BTreeSet<Missing> = BTreeSet::new();
    let (mut lacking, mut unsaid): (Vec<DiverDive<'_>>, Vec<DiverDive<'_>>) = (Vec::new(), Vec::new());
    for dive in dives::of(plan) {
        match context.simulate(&dive) {
            Ok(_) => {}
            Err(missing) if missing.is_empty() => unsaid.push(dive),
            // An error of the dive itself, a name that nothing defines, is told already.
            Err(_) if sink.has_told_within(&dive.dive.whole) => {}
            Err(missing) => {
                lacking.push(dive);
                facts.extend(missing);
            }
        }
    }
    // At `ready` each fact that lacks has a finding of its own.
    if plan.status == Status::Draft
        && let (Some(first), Some(fact)) = (lacking.first(), facts.first())
    {
        let more = match facts.len() - 1 {
            0 => said!(""),
            1 => said!(" and one more fact").with("more", 1usize),
            more => said!(" and {more} more facts", more),
        };
        let message =
            said!("{dives} not simulated: it lacks {fact}{more}", dives = told(&lacking), fact = fact.fact, more);
        let place = &first.dive.name.place;
        let finding = RULE.finding(place.clone(), message).with_about(first.about());
        let mut finding = said_at(context, plan, finding, place);
        finding.about.diver = None;
        for fact in facts.iter().take(MOST_RELATED) {
            finding = finding.with_related(fact.place.clone(), format!("lacks {}", fact.fact));
            if let Some(fix) = usual::figures(context, &fact.place, &fact.fact) {
                finding = finding.with_fix(fix);
            }
        }
        sink.find(finding);
    }
    if let Some(first) = unsaid.first()
        && !sink.has_told_of_a_defect()
    {
        let place = &first.dive.name.place;
        let message = said!("{dives} not simulated: what it asks for can't be made sense of", dives = told(&unsaid));
        let finding = RULE.finding(place.clone(), message).with_about(first.about());
        sink.find(said_at(context, plan, finding, place));
    }
}

/// So many facts are shown where they lack; the others are counted.
const MOST_RELATED: usize = 8;

/// `dive "morning" of Rowan is`, `3 dives are`.
fn told(dives: &[DiverDive<'_>]) -> Said {
    match dives {
        [dive] => said!("dive {dive:?} of {diver} is", dive = dive.dive.name.value, diver = dive.member.name.value),
        many => said!("{dives} divers' dives are", dives = many.len()),
    }
}
