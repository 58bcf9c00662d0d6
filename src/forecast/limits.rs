//! The limits that dives are run with.

use crate::plan::{Limit, Limits, Role};
use crate::source::Place;
use crate::words::{FileKind, LimitName};

/// The PO2 above which no waiver holds, bar: the highest that published single-exposure limits speak of (NOAA).
pub(crate) const PO2_GREATEST: f64 = 1.6;

/// The greatest PO2 at which the gas of a role may be breathed, by limits that are already laid over the house's.
pub(crate) fn po2(limits: &Limits, role: Role) -> Limit {
    let held = limits.held(role.po2_limit());
    if role != Role::Supply {
        return held;
    }
    // What feeds a loop stands in its mouthpiece too: it may be richer than what is worked on only where the house says so.
    let by_house = held.place.as_ref().is_some_and(|place| FileKind::of_name(name_of(place)) == Some(FileKind::House));
    let most = limits.held(if by_house { LimitName::Po2Bailout } else { LimitName::Po2Working });
    if held.value > most.value { most } else { held }
}

fn name_of(place: &Place) -> &str {
    place.file.as_str().rsplit('/').next().unwrap_or_default()
}
