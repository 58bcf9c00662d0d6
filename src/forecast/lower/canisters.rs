//! The absorbent that a dive may count on.

use jiff::civil::Date;

use crate::forecast::dives::DiverDive;
use crate::physics::absorbent::{USABLE_SHARE, rated_in_water_min};
use crate::physics::litres::Stpd;
use crate::plan::{Canister, Defined, Limits, Scope, as_of};
use crate::source::Placed;
use crate::words::LimitName;

/// How much of the first bed's rated minutes is counted on, as a working writes it.
pub(crate) fn usable_share_told(limits: &Limits) -> String {
    let said = limits.set(LimitName::AbsorbentShare);
    said.map_or_else(|| "2/3".to_owned(), |share| format!("{:.3}", share.value / 100.0))
}

/// How much of the first bed's rated minutes is counted on, a share.
pub(crate) fn usable_share(limits: &Limits) -> f64 {
    // What is usual is two thirds to the last digit, which no percentage is.
    limits.set(LimitName::AbsorbentShare).map_or(USABLE_SHARE, |share| share.value / 100.0)
}

/// The canister in the first bed of a unit, as far as it counts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FirstCanister<'a> {
    /// The canister.
    pub canister: &'a Defined<Canister>,
    /// Its rated minutes in the water of the dive.
    pub rated_min: f64,
    /// The output it is rated at.
    pub rated_co2: Stpd,
    /// Minutes used before.
    pub used_min: f64,
    /// Minutes that may still be used, at no more than its rated output; not below 0.
    pub left_min: f64,
}

impl FirstCanister<'_> {
    /// Minutes that may still be used after earlier dives of the day have used so many.
    pub(crate) fn left_after(&self, used_min: f64) -> f64 {
        (self.left_min - used_min).max(0.0)
    }
}

/// The canister in the first bed of the diver's unit; `None` where there is none, or its rating is not known.
pub(crate) fn first_canister<'a>(scope: &'a Scope, dive: &DiverDive<'_>) -> Option<FirstCanister<'a>> {
    canister_in(scope, dive, 0)
}

/// The same of a later bed, by its number from 0.
pub(crate) fn canister_in<'a>(scope: &'a Scope, dive: &DiverDive<'_>, bed: usize) -> Option<FirstCanister<'a>> {
    let canister = scope.canisters.get(&dive.unit()?.thing.beds.get(bed)?.canister.value)?;
    let bed = &canister.thing;
    let rated = bed.rated_min.as_ref()?.value;
    let rated_min = rated_in_water_min(rated, bed.rated_c.as_ref()?.value, dive.water_c());
    // Minutes from before it was packed anew are another filling's.
    let packed = dive.day().and_then(|day| as_of(&bed.packed, day)).and_then(|packed| packed.on.as_ref());
    let since = |on: &Placed<Date>| packed.is_none_or(|packed| on.value >= packed.value);
    let used = dive.day().and_then(|day| as_of(&bed.used, day)).filter(|used| used.on.as_ref().is_some_and(since));
    let used = used.and_then(|used| used.what.as_ref());
    let used_min = used.map_or(0.0, |used| used.value);
    Some(FirstCanister {
        canister,
        rated_min,
        rated_co2: bed.rated_co2.as_ref()?.value,
        used_min,
        left_min: (rated_min * usable_share(&dive.plan.limits) - used_min).max(0.0),
    })
}
