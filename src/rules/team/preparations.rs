//! Signed preparation routines.

use crate::plan::{Preparation, Routine};
use crate::rules::Look;
use crate::rules::dives::{self, OneDive};

/// Shows each signed routine of a plan that is defined, with the diver's dive it is for.
pub fn each(look: &Look<'_>, mut one: impl FnMut(&OneDive<'_>, &Routine, &Preparation)) {
    for dive in dives::all(look) {
        let own = dive.dive.prepared.iter().filter(|prepared| prepared.diver.value == dive.member.name.value);
        for prepared in own {
            if let Some(defined) = &prepared.defined {
                one(&dive, &defined.thing, prepared);
            }
        }
    }
}
