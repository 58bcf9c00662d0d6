//! `interval-short`: an interval at the surface is short.

use crate::findings::{Fix, FixKind, Level, said};
use crate::forecast::Part;
use crate::physics::tolerance;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("interval-short", Family::Exposure, Level::Note, include_str!("interval_short.md"), look)
        .fixes(FixAvailability::Sometimes);

/// Shorter is short, minutes (common practice, no source).
pub(crate) const SHORTEST_MIN: f64 = 60.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let intervals = context.plan.iter().flat_map(|plan| &plan.intervals_min).flatten();
    for interval in intervals.filter(|interval| interval.value < SHORTEST_MIN - tolerance::MINUTES) {
        let message = said!(
            "{minutes} min at the surface, less than the {least} asked for",
            minutes = say::minutes_had(interval.value),
            least = say::number(SHORTEST_MIN)
        );
        let mut finding = RULE.finding(interval.place.clone(), message);
        if let Some(edit) = fix::metric(context, &interval.place, SHORTEST_MIN, None) {
            let title = format!("rest {} min", say::number(SHORTEST_MIN));
            finding.fixes.push(Fix { title, kind: FixKind::Suggested, edits: vec![edit] });
        }
        sink.find(finding);
    }
    by_the_clock(context, sink);
}

/// What the times of day leave between the dives of one diver, those of other plans of the day among them. Each dive is told of
/// once, with the least that anybody has before it.
fn by_the_clock(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan.filter(|plan| plan.dives.len() > 1 || !context.earlier.is_empty()) else { return };
    let timeline = context.timeline();
    for (number, dive) in timeline.own.iter().enumerate() {
        let (Some(begins), Some(at)) = (dive.begins_min, &dive.dive.at) else { continue };
        let said = number.checked_sub(1).and_then(|before| plan.intervals_min.get(before)?.as_ref());
        let since = |part: &Part<'_, '_>| begins - part.ends_min().unwrap_or(f64::NEG_INFINITY);
        let parts = timeline.own_parts().filter(|part| part.timed.dive.header == dive.dive.header);
        let before = parts.flat_map(|own| {
            let others = timeline.of_diver(own).filter(move |other| other.diver.dive.id() != own.diver.dive.id());
            others.map(move |other| (own, other))
        });
        let after = before.filter(|(_, other)| since(other) > -tolerance::MINUTES);
        let Some((own, last)) = after.min_by(|a, b| since(&a.1).total_cmp(&since(&b.1))) else { continue };
        let minutes = since(&last).max(0.0);
        // An interval that is said is told of where it stands.
        let is_said = last.timed.plan.file == plan.file && said.is_some();
        if minutes >= SHORTEST_MIN - tolerance::MINUTES || is_said {
            continue;
        }
        let message = said!(
            "{diver} has {minutes} min at the surface after {after}, less than the {least} asked for",
            diver = own.name(),
            minutes = say::minutes_had(minutes),
            after = last.timed.named_from(plan),
            least = say::number(SHORTEST_MIN)
        );
        let finding = RULE.finding(at.place.clone(), message).with_about(own.diver.dive.about());
        sink.find(finding.with_related(last.diver.dive.dive.header.clone(), "the dive before"));
    }
}
