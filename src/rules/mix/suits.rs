//! Whether a gas would do where another is taken.

use super::needs::minimum;
use crate::forecast::dives::{DiverDive, Gas, deepest_breathed, fractions};
use crate::forecast::limits;
use crate::plan::{ApparatusKind, Role};

/// Whether a gas would do in the role of the cylinder that feeds a loop or is breathed from: lean enough for the
/// deepest place it is breathed at, rich enough for the unit, the floor and the set-point.
pub(crate) fn suits(dive: &DiverDive<'_>, gas: &Gas<'_>) -> bool {
    let role = gas.carried.role.value;
    let lean_enough = deepest_breathed(dive, role).is_none_or(|depth| {
        let limit = limits::po2(&dive.plan.limits, role).value;
        fractions(gas.rich).po2_bar(dive.water().pressure_bar(depth.value)) <= limit
    });
    if role != Role::Supply || dive.kind() != Some(ApparatusKind::SemiClosed) {
        return lean_enough;
    }
    let o2 = fractions(gas.lean).o2;
    let rich_enough = minimum(dive).iter().flatten().all(|need| o2 >= need.o2);
    let bar = dive.deepest().map_or(f64::INFINITY, |depth| dive.water().pressure_bar(depth.value));
    let above_set_point = dive.member.set_point.as_ref().is_none_or(|point| o2 > point.value.fraction_at(bar));
    lean_enough && rich_enough && above_set_point
}
