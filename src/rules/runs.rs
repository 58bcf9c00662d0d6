//! Rules that look at runs: each diver's dive as it would go.

use super::dives::{self, OneDive};
use super::inputs::Simulated;
use super::{Look, Out};
use crate::plan::UnitKind;

/// Whose dives a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    /// Every diver's.
    All,
    /// Those of divers on a loop.
    Loops,
}

/// Shows a rule each diver's dive as it would go, and says what a dive lacks that can't be run.
pub fn each_run<'a>(
    look: &Look<'a>,
    out: &mut Out<'_>,
    whose: Whose,
    mut one: impl FnMut(&Look<'a>, &Simulated<'a>, &mut Out<'_>),
) {
    // A unit that says no kind may be a loop; that it is not said is what its dive lacks.
    let is_whose = |dive: &OneDive<'_>| whose == Whose::All || dive.kind() != Some(UnitKind::Open);
    for dive in dives::all(look).into_iter().filter(is_whose) {
        match look.simulate(&dive) {
            Ok(simulated) => {
                simulated.lacking.iter().for_each(|(place, fact)| out.lacks(place.clone(), fact.clone()));
                one(look, &simulated, out);
            }
            Err(missing) => missing.into_iter().for_each(|(place, fact)| out.lacks(place, fact)),
        }
    }
}
