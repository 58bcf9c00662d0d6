//! `absorbent-old`: absorbent has lain too long since it was packed or first breathed.

use jiff::civil::Date;

use super::{PackedCanister, of_unit, packed_canisters, taken};
use crate::findings::{Level, said};
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::Placed;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("absorbent-old", Family::Unit, Level::Warning, include_str!("absorbent_old.md"), look).safety();

/// Days that absorbent keeps once it has been breathed through: 24 hours, by dates (common practice, no source).
const OPEN_DAYS: i32 = 1;
/// Days that absorbent keeps packed and sealed (common practice, no source).
const SEALED_DAYS: i32 = 28;

/// Since when it lies, how, and for how many days that may be.
fn lies<'a>(bed: &PackedCanister<'a>) -> (&'a Placed<Date>, &'static str, i32) {
    match bed.used.and_then(|(first, _)| first.on.as_ref()) {
        Some(opened) => (opened, "was first used", OPEN_DAYS),
        None => (bed.packed, "was packed", SEALED_DAYS),
    }
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(on) = &dive.plan.on else { continue };
        for bed in packed_canisters(context, &dive, &unit.thing) {
            let bed = match bed {
                Ok(bed) => bed,
                Err(missing) => {
                    sink.lacks_all([missing]);
                    continue;
                }
            };
            let (since, how, keeps) = lies(&bed);
            let days = (on.value - since.value).get_days();
            if days <= keeps {
                continue;
            }
            let keeps = if keeps == OPEN_DAYS { said!("24 hours") } else { said!("{keeps} days sealed", keeps) };
            let message = said!(
                "the absorbent in canister {canister:?} of unit {unit:?} {how} on {since}, {days} days before the dive: it keeps {keeps}",
                canister = bed.name.value,
                unit = unit.name.value,
                since = since.value,
                how,
                days,
                keeps
            );
            let place = &since.place;
            let finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the canister");
            sink.find(finding.with_related(on.place.clone(), "the day of the dive"));
        }
    }
}
