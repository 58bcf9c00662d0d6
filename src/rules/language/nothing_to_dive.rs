//! `nothing-to-dive`: a plan has no dive, or a dive nobody, nothing or nowhere to go.

use crate::findings::{Level, said};
use crate::forecast::dives::{self, DiverDive};
use crate::physics::tolerance;
use crate::plan::{LegKind, Plan, Status};
use crate::rules::dives::said_at;
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::source::Place;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("nothing-to-dive", Family::Language, Level::Error, include_str!("nothing_to_dive.md"), look)
        .safety()
        .at(&[Status::Draft, Status::Ready]);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    // What its template leaves open has a rule of its own.
    if plan.from.is_none() {
        empty(plan, sink);
    }
    for first in &plan.dives {
        let all: Vec<DiverDive<'_>> = dives::of_dive(plan, first).collect();
        let mut said: Vec<&Place> = Vec::new();
        for dive in &all {
            // Legs that are everyone's are told of once.
            let Some(leg) = dive.legs().first().map(|leg| &leg.place).filter(|leg| !said.contains(leg)) else {
                continue;
            };
            said.push(leg);
            stays_up(context, dive, sink);
            over_before_it_begins(context, dive, sink);
        }
    }
}

/// What is not written at all.
fn empty(plan: &Plan, sink: &mut Sink<'_>) {
    if plan.dives.is_empty() {
        sink.find(RULE.finding(plan.name.place.clone(), said!("plan {plan:?} has no dive", plan = plan.name.value)));
    }
    for dive in plan.dives.iter().flat_map(|first| std::iter::once(first).chain(&first.otherwise)) {
        let divers = if dive.divers.is_empty() { dives::of_dive(plan, dive).count() } else { dive.divers.len() };
        let alternative = !plan.dives.iter().any(|first| first.header == dive.header);
        let lacks = match divers {
            0 if !alternative => "diver",
            _ if dive.legs.is_empty() && !dive.divers.iter().any(|member| !member.legs.is_empty()) => "legs",
            _ => continue,
        };
        let message = said!("dive {dive:?} has no {lacks}", dive = dive.name.value, lacks);
        sink.find(RULE.finding(dive.name.place.clone(), message));
    }
}

/// A dive whose legs never go down.
fn stays_up(context: &Context<'_>, dive: &DiverDive<'_>, sink: &mut Sink<'_>) {
    let legs = dive.legs();
    let unread = |kind: &LegKind| matches!(kind, LegKind::Descend { depth_m: None, .. });
    let Some(first) = legs.first() else { return };
    if legs.iter().any(|leg| leg.depth_m().is_some_and(|depth| depth.value > 0.0) || unread(&leg.kind)) {
        return;
    }
    // A leg that can't be read may be the one that goes down.
    if sink.has_told_within(&dive.dive.whole) {
        return;
    }
    let message = said!("dive {dive:?} never leaves the surface", dive = dive.dive.name.value);
    let finding = RULE.finding(first.place.clone(), message).with_about(dive.about());
    sink.find(said_at(context, dive.plan, finding, &first.place));
}

/// A stay until a run time that is past when it begins.
fn over_before_it_begins<'a>(context: &Context<'a>, dive: &DiverDive<'a>, sink: &mut Sink<'_>) {
    let until = |kind: &LegKind| match kind {
        LegKind::Stay { until_min: Some(until), .. } => Some(until.clone()),
        _ => None,
    };
    let said: Vec<_> =
        dive.legs().iter().enumerate().filter_map(|(number, leg)| Some((number, until(&leg.kind)?))).collect();
    if said.is_empty() {
        return;
    }
    // A dive that can't be run has its own word.
    let Ok(simulated) = context.simulate(dive) else { return };
    for (number, until) in said {
        let Some((begins, _)) = simulated.leg_min(number) else { continue };
        if until.value < begins - tolerance::MINUTES {
            let message = said!(
                "the stay until {until} min is over before it begins, at {begins} min",
                until = say::number(until.value),
                begins = say::number(say::up(begins, 0.1))
            );
            let finding = RULE.finding(until.place.clone(), message).with_about(dive.about());
            sink.find(said_at(context, dive.plan, finding, &until.place));
        }
    }
}
