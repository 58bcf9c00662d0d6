//! `absorbent-order`: the fresher canister goes first.

use super::{PackedCanister, of_unit, packed_canisters, taken};
use crate::findings::{Fix, FixKind, Level, said};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, say};
use crate::source::Edit;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("absorbent-order", Family::Unit, Level::Warning, include_str!("absorbent_order.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let of = unit.thing.beds.len();
        if !unit.thing.beds.iter().skip(1).any(|bed| bed.moves_up) {
            continue;
        }
        let beds = packed_canisters(context, &dive, &unit.thing);
        sink.lacks_all(beds.iter().filter_map(|bed| bed.as_ref().err()).cloned());
        let known = || beds.iter().filter_map(|bed| bed.as_ref().ok());
        let Some(first) = known().find(|bed| bed.order == 0) else { continue };
        let waiting = known().filter(|bed| bed.order > 0 && bed.moves_up);
        let Some(later) = waiting.max_by(|a, b| a.used_min().total_cmp(&b.used_min())) else { continue };
        if first.used_min() >= later.used_min() {
            continue;
        }
        let nth = later.order + 1;
        let message = said!(
            "canister 1 of {of} in unit {unit:?} is {first:?} with {first_used} min used, canister {nth} is {later:?} with {later_used}: the more-used one goes \
             first",
            unit = unit.name.value,
            first = first.name.value,
            first_used = say::number(first.used_min()),
            later = later.name.value,
            later_used = say::number(later.used_min()),
            of,
            nth
        );
        let place = &first.name.place;
        let mut finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the canisters");
        finding = finding.with_related(later.name.place.clone(), format!("canister {nth} of {of}"));
        if let Some((_, minutes)) = later.used {
            finding = finding.with_related(minutes.place.clone(), "its minutes");
        }
        finding.fixes.extend(swapped(context, first, later));
        sink.find(finding);
    }
}

/// The two canisters the other way round, where this file says them.
fn swapped(context: &Context<'_>, first: &PackedCanister<'_>, later: &PackedCanister<'_>) -> Option<Fix> {
    let edit = |at: &PackedCanister<'_>, name: &PackedCanister<'_>| Edit {
        place: at.name.place.clone(),
        text: format!("{:?}", name.name.value),
    };
    (first.name.place.file == *context.file && later.name.place.file == *context.file).then(|| Fix {
        title: format!("put canister {:?} first", later.name.value),
        kind: FixKind::Suggested,
        edits: vec![edit(first, later), edit(later, first)],
    })
}
