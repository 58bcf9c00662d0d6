//! Rules about what is breathed.

pub(crate) mod analysis_differs;
pub(crate) mod analysis_missing;
pub(crate) mod analysis_not_own;
pub(crate) mod analysis_stale;
pub(crate) mod ascent_hypoxia;
pub(crate) mod diluent_too_rich;
pub(crate) mod gas_dense;
pub(in crate::rules) mod least_oxygen;
pub(crate) mod loop_below_floor;
pub(crate) mod mix_below_minimum;
pub(crate) mod mix_impossible;
pub(crate) mod mod_exceeded;
pub(crate) mod narcosis_deep;
pub(crate) mod narcotic;
mod needs;
pub(crate) mod no_mix_fits;
pub(in crate::rules) mod operating_depth;
pub(crate) mod po2_high;
pub(crate) mod po2_low;
pub(crate) mod set_point_unreachable;

use super::{Context, Sink};
use crate::findings::Finding;
use crate::forecast::dives::{DiverDive, Gas, fractions};
use crate::physics::{Mix, SetPoint};
use crate::plan::{ApparatusKind, Role};
use crate::rules::dives;
use crate::source::Placed;

mod suits;

use crate::forecast::dives::deepest_breathed_from;
pub(crate) use needs::minimum;
pub(crate) use suits::suits;

/// Something that may be breathed out of a cylinder.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Breathed {
    /// The gas.
    pub mix: Mix,
    /// Whether it is what the loop makes of the cylinder's gas.
    pub on_the_loop: bool,
}

/// All that may be breathed out of a cylinder at a pressure: its gas as it was ordered and as it was analysed, and what
/// a loop that it feeds makes of it at its set-point.
pub(crate) fn breathed(dive: &DiverDive<'_>, gas: &Gas<'_>, pressure_bar: f64) -> Vec<Breathed> {
    let own = [fractions(gas.lean), fractions(gas.rich)];
    let mut all = own.map(|mix| Breathed { mix, on_the_loop: false }).to_vec();
    let Some(point) = dive.set_point_at_depth() else { return all };
    let o2 = match (dive.kind(), gas.carried.role.value, point.value) {
        (Some(ApparatusKind::SemiClosed), Role::Supply, point) => point.fraction_at(pressure_bar).min(1.0),
        (Some(ApparatusKind::Closed), Role::Diluent, SetPoint::Bar(po2_bar)) => (po2_bar / pressure_bar).min(1.0),
        _ => return all,
    };
    // Taking oxygen out, or putting it in, leaves the other gases in their proportion.
    all.extend(
        own.into_iter()
            .filter(|mix| mix.o2 < 1.0)
            .map(|mix| Breathed { mix: Mix { o2, he: mix.he * (1.0 - o2) / (1.0 - mix.o2) }, on_the_loop: true }),
    );
    all
}

/// Says the worst that `one` finds of the gases of each dive, each where it is breathed deepest: it gives how bad that is,
/// and the finding. The depth is what they have in common, so the worst speaks for all and is related to the others.
fn worst_breathed(
    context: &Context<'_>,
    sink: &mut Sink<'_>,
    one: impl Fn(&Context<'_>, &DiverDive<'_>, &Gas<'_>, &Placed<f64>) -> Option<(f64, Finding)>,
    others: &str,
) {
    for dive in dives::all(context) {
        let mut found = Vec::new();
        for carried in &dive.member.cylinders {
            let Some(depth) = deepest_breathed_from(&dive, carried) else { continue };
            match dive.gas(carried) {
                Ok(gas) => found.extend(one(context, &dive, &gas, depth)),
                Err(unknown) => sink.lacks_all(unknown.missing()),
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut found = found.into_iter().map(|(_, finding)| finding);
        let Some(worst) = found.next() else { continue };
        sink.find(found.fold(worst, |worst, other| worst.with_related(other.place, others)));
    }
}

pub(crate) mod counterdiffusion;
pub(crate) mod switch_too_deep;
