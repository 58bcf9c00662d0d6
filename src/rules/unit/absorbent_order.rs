//! `absorbent-order`: the fresher absorbent bed goes first.

use super::{Bed, beds, of_unit, taken};
use crate::findings::{Fix, FixKind, Level};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, say};
use crate::source::Edit;

/// The rule.
pub const RULE: Rule =
    Rule::new("absorbent-order", Family::Unit, Level::Warning, include_str!("absorbent_order.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let beds = beds(context, &dive, &unit.thing);
        for lacking in beds.iter().filter_map(|bed| bed.as_ref().err()) {
            sink.lacks(lacking.0.clone(), lacking.1.clone());
        }
        let [Ok(first), Ok(second)] = beds.as_slice() else { continue };
        if first.used_min() >= second.used_min() {
            continue;
        }
        let message = format!(
            "canister {:?} goes first in unit {:?} with {} min used, before {:?} with {}: the more-used one goes first",
            first.name.value,
            unit.name.value,
            say::number(first.used_min()),
            second.name.value,
            say::number(second.used_min()),
        );
        let place = &first.name.place;
        let mut finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the beds");
        finding = finding.with_related(second.name.place.clone(), "the second bed");
        if let Some((_, minutes)) = second.used {
            finding = finding.with_related(minutes.place.clone(), "its minutes");
        }
        finding.fixes.extend(swapped(context, first, second));
        sink.find(finding);
    }
}

/// The two beds the other way round, where this file says them.
fn swapped(context: &Context<'_>, first: &Bed<'_>, second: &Bed<'_>) -> Option<Fix> {
    let edit =
        |at: &Bed<'_>, name: &Bed<'_>| Edit { place: at.name.place.clone(), text: format!("{:?}", name.name.value) };
    (first.name.place.file == *context.file && second.name.place.file == *context.file).then(|| Fix {
        title: format!("put canister {:?} first", second.name.value),
        kind: FixKind::Suggested,
        edits: vec![edit(first, second), edit(second, first)],
    })
}
