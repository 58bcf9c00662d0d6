//! From a plan to the simulator: each diver's dive as plain values, run once for all who ask.
//!
//! A [`Day`] gathers what the plan, the kit, the limits and the dives before say of each diver on each dive into a
//! `DiveInput`, which holds no places and no names, and gives the run of it. Runs are remembered by what was given, so that
//! a comment, a moved line or another diver never runs a dive again. Where a fact is lacking it is named instead, each
//! with its place.

mod answers;
mod carryover;
mod day;
pub mod dives;
mod held;
mod last_day;
pub(crate) mod limits;
mod lower;
mod missing;
mod simulation;
mod simulations;
mod timeline;

pub(crate) use carryover::Trip;
pub use day::Day;
pub(crate) use lower::{
    DiveInput, FirstCanister, PRE_BREATHE_MIN, USUAL_OXYGEN, body_at_rest, canister_in, feed, first_canister, gas_lpm,
    oxygen, usable_share, usable_share_told,
};
pub use missing::Missing;
pub(crate) use missing::Unknown;
pub(crate) use simulation::Simulation;
pub(crate) use simulations::SimulationCache;
pub use timeline::Neighbour;
pub(crate) use timeline::{DAY_MIN, Part, Timed, Timeline, Times, minute};

use std::sync::Arc;

use self::carryover::Before;
use self::dives::DiverDive;
use self::lower::Gathered;
use crate::physics::roots;
use crate::plan::{Carried, Role, Scope};
use crate::run::{self, Event, EventKind, Exposure, Why};

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

impl<'a> Simulated<'a> {
    /// The dive as people are shown it: without a gradient no stops are, and the way home goes straight up. What is judged is
    /// the dive with the fewest stops that any gradient asks for.
    #[must_use]
    pub fn shown(&self) -> Simulated<'a> {
        match self.ran.shown() {
            Some(shown) => Simulated { ran: Arc::new(shown), ..self.clone() },
            None => self.clone(),
        }
    }
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
    pub fn of_role(&self, role: Role) -> Option<usize> {
        self.kit.iter().position(|carried| carried.role.value == role)
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
        let Gathered { given, kit, lacking } = lower::sharing::given(scope, dive, before)?;
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
