//! Rules that look at runs: each diver's dive as it would go.

use super::{Context, Sink};
use crate::forecast::Simulated;
use crate::forecast::dives::DiverDive;
use crate::plan::ApparatusKind;
use crate::rules::dives;

/// Whose dives a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Whose {
    /// Every diver's.
    All,
    /// Those of divers on a loop.
    Loops,
}

/// As [`each_run`], for a rule that goes by stops. Where the plan gives no gradient, a dive is looked at with the fewest
/// stops that any gradient asks for: what fails even so is found, and where nothing is found the gradient is lacking.
pub(crate) fn each_schedule<'a>(
    context: &Context<'a>,
    sink: &mut Sink<'_>,
    whose: Whose,
    mut one: impl FnMut(&Context<'a>, &Simulated<'a>, &mut Sink<'_>),
) {
    each_run(context, sink, whose, |context, simulated, sink| {
        let found = sink.found();
        one(context, simulated, sink);
        if sink.found() == found {
            lacks_gradient(simulated, sink);
        }
    });
}

/// What a plan without a gradient lacks.
pub(crate) const GRADIENT: &str = "`gradient low= high=` of the limits";

/// Says that a rule that goes by stops could not look where the plan gives no gradient.
pub(crate) fn lacks_gradient(simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    if simulated.ran.dive.home.fewest_stops {
        let plan = simulated.dive.plan;
        let place = plan.limits.place.clone().unwrap_or_else(|| plan.name.place.clone());
        sink.lacks(place, GRADIENT);
    }
}

/// Shows a rule each diver's dive as it would go, and says what a dive lacks that can't be run.
pub(crate) fn each_run<'a>(
    context: &Context<'a>,
    sink: &mut Sink<'_>,
    whose: Whose,
    mut one: impl FnMut(&Context<'a>, &Simulated<'a>, &mut Sink<'_>),
) {
    // A unit that says no kind may be a loop; that it is not said is what its dive lacks.
    let is_whose = |dive: &DiverDive<'_>| whose == Whose::All || dive.kind() != Some(ApparatusKind::Open);
    for dive in dives::all(context).into_iter().filter(is_whose) {
        match context.simulate(&dive) {
            Ok(simulated) => {
                sink.lacks_all(simulated.lacking.iter().cloned());
                one(context, &simulated, sink);
            }
            Err(missing) => sink.lacks_all(missing),
        }
    }
}
