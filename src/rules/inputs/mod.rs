//! From a plan to the simulator: each diver's dive as plain values, run once for all who ask.
//!
//! A [`Day`] gathers what the plan, the kit, the limits and the dives before say of each diver on each dive into a
//! [`DiveInput`], which holds no places and no names, and gives the run of it. Runs are remembered by what was given, so that
//! a comment, a moved line or another diver never runs a dive again. Where a fact is lacking it is named instead, each
//! with its place.

mod apparatus;
mod bed;
mod course;
mod cylinders;
mod day;
mod feed;
mod given;
mod home;
mod key;
mod last_day;
mod left;
mod runs;
mod sharing;
mod work;

pub use crate::run::ASCENT_RATE;
pub use apparatus::PRE_BREATHE_MIN;
pub use bed::{Bed, first_bed};
pub use course::DESCENT_RATE;
pub use day::{Day, Earlier};
pub use feed::{Fed, feed};
pub use given::{CylinderInput, DiveInput};
pub use home::{OUT_OVER_REST, PROBLEM_MIN, SHALLOWEST_STOP_M, body_at_rest, stops};
pub use left::Trip;
pub use runs::{Simulation, SimulationCache};
pub use work::{USUAL_OXYGEN_LPM, gas_lpm, oxygen_free_lpm};

use std::sync::Arc;

use self::left::Before;
use super::Context;
use super::dives::DiverDive;
use super::limits::{PO2_BAILOUT, PO2_DECO, PO2_WORKING};
use crate::physics::roots;
use crate::plan::{Carried, Limits, Maybe, SPARE, Scope};
use crate::run::{self, Event, EventKind, Exposure, Why};
use crate::source::Place;

/// A fact that is lacking: where it would stand, or what lacks it, and the fact as a writer would add it.
pub type Missing = (Place, String);

/// One diver's dive as it would go.
#[derive(Debug, Clone)]
pub struct Simulated<'a> {
    /// The dive and the diver.
    pub dive: DiverDive<'a>,
    /// The run.
    pub ran: Arc<Simulation>,
    /// The cylinders as the diver carries them, numbered as in the run.
    pub kit: Vec<&'a Carried>,
    /// What the plan's earlier dives have done to the diver's body and to the absorbent. The run begins with the tissues
    /// it tells of and without the rest.
    pub carried: Exposure,
    /// Minutes that earlier dives of the day had the diver's unit on.
    pub unit_min: f64,
    /// The days in a row of the diver's dives, this day's earlier ones among them.
    pub trip: Trip,
    /// Facts without which something was left out that the dive as planned does without: a cylinder not breathed from.
    pub lacking: Vec<Missing>,
}

impl Simulated<'_> {
    /// When the plan's leg of a number begins and ends, minutes since leaving the surface; `None` where the run has no
    /// such leg.
    pub fn leg_min(&self, number: usize) -> Option<(f64, f64)> {
        let legs = &self.ran.track.legs;
        let is = |leg: &run::Leg| leg.why == Why::Asked(number);
        let first = legs.iter().position(|(_, leg)| is(leg))?;
        let last = legs.iter().rposition(|(_, leg)| is(leg))?;
        let ends = legs.get(last + 1).map_or(self.ran.track.end.t_min, |(begins, _)| *begins);
        Some((legs.get(first)?.0, ends))
    }

    /// What happens, in order, the oxygen clock counted from the plan's earlier dives on.
    pub fn events(&self) -> Vec<Event> {
        let (track, before) = (&self.ran.track, self.carried.clock);
        let mut events = track.events.clone();
        if before > 0.0 {
            events.retain(|event| event.kind != EventKind::ClockSpent);
            let over = |t_min: f64| before + track.at(t_min).exposure.clock - 1.0;
            let (begins, ends) = (track.start().t_min, track.end.t_min);
            let spent = if over(begins) >= 0.0 { Some(begins) } else { roots::zero(begins, ends, over) };
            if let Some(t_min) = spent {
                let at = events.partition_point(|event| event.t_min <= t_min);
                events.insert(at, Event { t_min, kind: EventKind::ClockSpent });
            }
        }
        events
    }

    /// The number in the run of the first cylinder of a role.
    pub fn of_role(&self, role: &str) -> Option<usize> {
        self.kit.iter().position(|carried| carried.role.value == role)
    }

    /// The number in the run of the cylinder that feeds the loop, or of the back cylinder on open circuit.
    pub fn main_gas(&self) -> Option<usize> {
        let main = self.dive.main_gas()?;
        self.kit.iter().position(|carried| std::ptr::eq(*carried, main))
    }
}

impl<'a> Simulated<'a> {
    /// `before` tells what each diver of the dive begins with.
    fn of<'l>(
        scope: &Scope,
        runs: &SimulationCache,
        dive: &DiverDive<'a>,
        before: &dyn Fn(&DiverDive<'a>) -> Before<'l>,
    ) -> Result<Self, Vec<Missing>> {
        let Gathered { given, kit, lacking } = sharing::given(scope, dive, before)?;
        let before = before(dive);
        // What no apparatus, cylinder or leg can be is out of range, and that is said of it.
        let ran = runs.of(&given).ok_or_else(Vec::new)?;
        let day = before.recent.map_or(before.carried.day, |recent| last_day::carried(recent, &ran));
        Ok(Simulated {
            dive: *dive,
            ran,
            kit,
            carried: Exposure { day, ..before.carried },
            unit_min: before.unit_min,
            trip: before.trip,
            lacking,
        })
    }
}

impl<'a> Context<'a> {
    /// A diver's dive as it would go, with what the dives before it leave behind; or the facts without which nobody can
    /// say.
    ///
    /// # Errors
    /// The facts that are lacking; none where another rule speaks of the cause.
    pub fn simulate(&self, dive: &DiverDive<'a>) -> Result<Simulated<'a>, Vec<Missing>> {
        self.the_day().dive(dive)
    }

    /// Another dive in a dive's place, with what the dives before leave behind: what a fix would make of it.
    ///
    /// # Errors
    /// The facts that lack of either; none where another rule speaks of the cause.
    pub fn simulate_instead<'b>(
        &self,
        dive: &DiverDive<'_>,
        other: &DiverDive<'b>,
    ) -> Result<Simulated<'b>, Vec<Missing>> {
        self.the_day().instead(self.scope, self.runs, dive, other)
    }

    fn the_day(&self) -> &Day<'a> {
        self.day.get_or_init(|| {
            self.plan.map(|plan| Day::of(self.scope, self.runs, plan, self.earlier)).unwrap_or_default()
        })
    }
}

/// What is given, the cylinders it numbers, and the facts lacking that the dive does without.
struct Gathered<'a> {
    given: DiveInput,
    kit: Vec<&'a Carried>,
    lacking: Vec<Missing>,
}

fn given<'a>(scope: &Scope, dive: &DiverDive<'a>, before: &Before<'_>) -> Result<Gathered<'a>, Vec<Missing>> {
    let mut lacks = Lacks::default();
    let kit = cylinders::of(dive, before, &mut lacks);
    let inflates = kit.inflates(dive, &mut lacks);
    let apparatus = apparatus::of(scope, dive, &kit, &mut lacks);
    let course = course::of(dive, &kit, &mut lacks);
    let (Some(apparatus), Some(course)) = (apparatus, course) else { return Err(lacks.needed) };
    if !lacks.needed.is_empty() || lacks.hopeless {
        return Err(lacks.needed);
    }
    let limits = &dive.plan.limits;
    let or = |limit: &Maybe<f64>, usual: f64| limit.as_ref().map_or(usual, |limit| limit.value);
    let usual = run::Limits::default();
    let unit = dive.unit().map(|unit| &unit.thing);
    let floor = unit.and_then(|unit| unit.floor_percent.as_ref());
    let on_loop = apparatus.circuit.loop_l() > 0.0;
    let bed = first_bed(scope, dive).filter(|_| on_loop);
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
        cylinders: kit.bottles,
        rest: course.rest,
        legs: course.legs,
        carried: Exposure { body, ..Exposure::default() },
        home,
        limits: run::Limits {
            floor_o2: floor.filter(|_| on_loop).map_or(0.0, |floor| floor.value / 100.0),
            band_o2: or(&limits.band_percent, usual.band_o2 * 100.0) / 100.0,
            least_bar: or(&limits.po2_least, usual.least_bar),
            greatest_bar: or(&limits.po2_working, PO2_WORKING),
            absorbent_min: bed.map_or(usual.absorbent_min, |bed| bed.left_after(before.carried.absorbent_min)),
            ..usual
        },
        others: Vec::new(),
    };
    Ok(Gathered { given, kit: kit.carried, lacking: lacks.optional })
}

/// The greatest PO2 at which the gas of a role may be breathed, bar, by limits that are already laid over the house's.
pub fn greatest_po2(limits: &Limits, role: &str) -> f64 {
    let (limit, usual) = match role {
        "deco" => (&limits.po2_deco, PO2_DECO),
        "bailout" | SPARE => (&limits.po2_bailout, PO2_BAILOUT),
        _ => (&limits.po2_working, PO2_WORKING),
    };
    limit.as_ref().map_or(usual, |limit| limit.value)
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
        let missing = (place.clone(), fact.into());
        if !self.needed.contains(&missing) {
            self.needed.push(missing);
        }
    }

    /// Takes note of what is lacking; `None` if something is.
    fn take<T>(&mut self, found: Result<T, Option<Missing>>) -> Option<T> {
        match found {
            Ok(found) => return Some(found),
            Err(Some((place, fact))) => self.need(&place, fact),
            Err(None) => self.hopeless = true,
        }
        None
    }
}
