//! `interval-short`: an interval at the surface is short.

use crate::findings::{Fix, FixKind, Level};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, mend, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "interval-short",
    family: Family::Exposure,
    level: Level::Note,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: false,
    statuses: TO_DIVE,
    page: include_str!("interval_short.md"),
    look,
};

/// Shorter is short, minutes (common practice, no source).
pub const SHORTEST_MIN: f64 = 60.0;

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    let intervals = look.plan.iter().flat_map(|plan| &plan.intervals_min).flatten();
    for interval in intervals.filter(|interval| interval.value < SHORTEST_MIN - 1e-9) {
        let message = format!(
            "{} min at the surface are less than {}",
            say::minutes_had(interval.value),
            say::number(SHORTEST_MIN)
        );
        let mut finding = RULE.finding(interval.place.clone(), message);
        if let Some(edit) = mend::metric(look, &interval.place, SHORTEST_MIN, None) {
            let title = format!("rest {} min", say::number(SHORTEST_MIN));
            finding.fixes.push(Fix { title, kind: FixKind::Suggested, edits: vec![edit] });
        }
        out.find(finding);
    }
}
