//! `interval-short`: an interval at the surface is short.

use crate::findings::{Fix, FixKind, Level};
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
        let message = format!(
            "{} min at the surface are less than {}",
            say::minutes_had(interval.value),
            say::number(SHORTEST_MIN)
        );
        let mut finding = RULE.finding(interval.place.clone(), message);
        if let Some(edit) = fix::metric(context, &interval.place, SHORTEST_MIN, None) {
            let title = format!("rest {} min", say::number(SHORTEST_MIN));
            finding.fixes.push(Fix { title, kind: FixKind::Suggested, edits: vec![edit] });
        }
        sink.find(finding);
    }
}
