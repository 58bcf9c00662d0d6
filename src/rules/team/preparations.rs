//! Signed preparation routines.

use crate::forecast::dives::DiverDive;
use crate::plan::{Preparation, Routine};
use crate::rules::Context;
use crate::rules::dives;

/// Shows each signed routine of a plan that is defined, with the diver's dive it is for.
pub(super) fn each(context: &Context<'_>, mut one: impl FnMut(&DiverDive<'_>, &Routine, &Preparation)) {
    for dive in dives::all(context) {
        let own = dive.dive.prepared.iter().filter(|prepared| prepared.diver.value == dive.member.name.value);
        for prepared in own {
            if let Some(defined) = &prepared.defined {
                one(&dive, &defined.thing, prepared);
            }
        }
    }
}
