//! Rules about what is breathed.

pub mod mix_below_minimum;
pub mod mix_impossible;
pub mod mod_exceeded;
pub mod set_point_unreachable;

use super::Look;
use super::dives::{Gas, OneDive, fractions};
use super::limits;
use crate::plan::UnitKind;

/// Whether a gas would do in the role of the cylinder that feeds a loop or is breathed from: lean enough for the
/// deepest place it is breathed at, rich enough for the unit, the floor and the set-point.
pub fn suits(look: &Look<'_>, dive: &OneDive<'_>, gas: &Gas<'_>) -> bool {
    let role = gas.carried.role.value.as_str();
    let lean_enough = mod_exceeded::deepest_breathed(dive, role).is_none_or(|depth| {
        let limit = limits::po2(look, dive.plan, role).value;
        fractions(gas.rich).po2_bar(dive.water().pressure_bar(depth.value)) <= limit
    });
    if role != "supply" || dive.kind() != Some(UnitKind::SemiClosed) {
        return lean_enough;
    }
    let o2 = fractions(gas.lean).o2;
    let rich_enough = mix_below_minimum::minimum(dive).iter().flatten().all(|need| o2 >= need.o2);
    let above_set_point = dive.member.set_point.as_ref().is_none_or(|point| o2 * 100.0 > point.value);
    lean_enough && rich_enough && above_set_point
}
