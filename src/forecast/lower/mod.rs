//! From a plan's words to what a run takes: apparatus, cylinders, canisters, legs, work, who shares gas with whom.

mod apparatus;
mod canisters;
mod cylinders;
mod feed;
mod home;
mod input;
mod legs;
pub(super) mod sharing;
mod work;

pub(crate) use apparatus::PRE_BREATHE_MIN;
pub(crate) use canisters::{FirstCanister, canister_in, first_canister, usable_share, usable_share_told};
pub(crate) use feed::feed;
pub(crate) use home::body_at_rest;
pub(crate) use input::{CylinderInput, DiveInput};
pub(crate) use work::{USUAL_OXYGEN, gas_lpm, oxygen};

use super::carryover::Before;
use super::dives::DiverDive;
use super::{Missing, Unknown};
use crate::plan::{Carried, Scope};
use crate::run::{self, Exposure};
use crate::source::Place;
use crate::words::LimitName;

/// What is given, the cylinders it numbers, and the facts lacking that the dive does without.
pub(super) struct Gathered<'a> {
    pub given: DiveInput,
    pub kit: Vec<&'a Carried>,
    pub lacking: Vec<Missing>,
}

fn given<'a>(scope: &Scope, dive: &DiverDive<'a>, before: &Before<'_>) -> Result<Gathered<'a>, Vec<Missing>> {
    let mut lacks = Lacks::default();
    let kit = cylinders::of(dive, before, &mut lacks);
    let inflates = kit.inflates(dive, &mut lacks);
    let apparatus = apparatus::of(scope, dive, &kit, &mut lacks);
    let course = legs::of(dive, &kit, &mut lacks);
    let (Some(apparatus), Some(course)) = (apparatus, course) else { return Err(lacks.needed) };
    if !lacks.needed.is_empty() || lacks.hopeless {
        return Err(lacks.needed);
    }
    let limits = &dive.plan.limits;
    let usual = run::Limits::default();
    let unit = dive.unit().map(|unit| &unit.thing);
    let floor = unit.and_then(|unit| unit.floor_percent.as_ref());
    let on_loop = apparatus.circuit.loop_l() > 0.0;
    let bed = first_canister(scope, dive).filter(|_| on_loop);
    let home = home::of(dive, &kit, course.ascent, course.rest);
    let body = home.stops.map(|_| before.carried.body.unwrap_or_else(|| home::body_at_rest(dive)));
    let given = DiveInput {
        water: dive.water(),
        circuit: apparatus.circuit,
        feed_tolerance: apparatus.feed_tolerance,
        set_point: apparatus.set_point,
        pre_breathe_min: apparatus.pre_breathe_min,
        checks_l: apparatus.checks_l,
        inflates,
        cylinders: kit.inputs,
        rest: course.rest,
        legs: course.legs,
        carried: Exposure { body, ..Exposure::default() },
        home,
        limits: run::Limits {
            floor_o2: floor.filter(|_| on_loop).map_or(0.0, |floor| floor.value / 100.0),
            band_o2: limits.value(LimitName::Band) / 100.0,
            least_bar: limits.value(LimitName::Po2Least),
            greatest_bar: limits.value(LimitName::Po2Working),
            absorbent_min: bed.map_or(usual.absorbent_min, |bed| bed.left_after(before.carried.absorbent_min)),
            ..usual
        },
        others: Vec::new(),
    };
    Ok(Gathered { given, kit: kit.carried, lacking: lacks.optional })
}

/// The facts found lacking while a dive is gathered.
#[derive(Debug, Default)]
struct Lacks {
    /// Those that the dive can't be run without.
    needed: Vec<Missing>,
    /// Those that it can do without.
    optional: Vec<Missing>,
    /// Whether something is missing that another rule speaks of.
    hopeless: bool,
}

impl Lacks {
    fn need(&mut self, place: &Place, fact: impl Into<String>) {
        let missing = Missing::new(place, fact);
        self.need_all([missing]);
    }

    fn need_all(&mut self, missing: impl IntoIterator<Item = Missing>) {
        for missing in missing {
            if !self.needed.contains(&missing) {
                self.needed.push(missing);
            }
        }
    }

    /// Takes note of what is lacking; `None` if something is.
    fn take<T>(&mut self, found: Result<T, Unknown>) -> Option<T> {
        match found {
            Ok(found) => return Some(found),
            Err(Unknown::Lacks(missing)) => self.need_all([missing]),
            Err(Unknown::SaidElsewhere) => self.hopeless = true,
        }
        None
    }
}
