//! When dives are: begin and end of every dive of a plan and of the plans around it, on one clock.
//!
//! A dive begins at its time of day, or where the dive before it has ended and the interval after that is said. Minutes
//! are counted from one midnight for all plans, so that a dive of yesterday is compared as one of the morning is.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use jiff::civil::{Date, Time, date};

use super::dives::{self, DiverDive};
use super::{Missing, Simulated};
use crate::findings::{Said, said};
use crate::physics::tolerance;
use crate::plan::{Dive, Plan, Scope, TeamMember};
use crate::source::{FileId, Place};

/// Minutes of a day.
pub(crate) const DAY_MIN: f64 = 1440.0;

/// A plan whose dives lie before another's, or beside them, and what its names mean.
#[derive(Debug, Clone)]
pub struct Neighbour {
    /// The plan.
    pub plan: Arc<Plan>,
    /// What its names mean.
    pub scope: Arc<Scope>,
    /// When its dives are, once somebody has asked; for all who ask.
    pub(crate) times: Arc<OnceLock<Times>>,
}

/// When the dives of a plan are, the plan taken by itself: in its order, each with its divers in theirs.
#[derive(Debug, Default)]
pub(crate) struct Times(Vec<DiveTimes>);

#[derive(Debug)]
struct DiveTimes {
    begins_min: Option<f64>,
    lasts: Result<f64, Vec<Missing>>,
    took: Vec<Took>,
}

/// How long a diver's dive lasts, minutes, and whether it has stops.
type Took = Result<(f64, bool), Vec<Missing>>;

impl Times {
    /// Of dives as they are timed.
    pub(super) fn of(dives: &[Timed<'_>]) -> Times {
        let times = |timed: &Timed<'_>| DiveTimes {
            begins_min: timed.begins_min,
            lasts: timed.lasts.clone(),
            took: timed.divers.iter().map(|diver| diver.took.clone()).collect(),
        };
        Times(dives.iter().map(times).collect())
    }

    /// The dives of the plan that these are of.
    pub(super) fn timed<'a>(&self, plan: &'a Plan) -> impl Iterator<Item = Timed<'a>> {
        plan.dives.iter().zip(&self.0).map(move |(dive, times)| {
            let divers = first_divers(plan, dive).zip(&times.took);
            Timed {
                plan,
                dive,
                begins_min: times.begins_min,
                lasts: times.lasts.clone(),
                divers: divers.map(|(dive, took)| DiverTimed { dive, took: took.clone() }).collect(),
            }
        })
    }
}

/// The divers of a dive, its alternatives left out.
fn first_divers<'a>(plan: &'a Plan, first: &'a Dive) -> impl Iterator<Item = DiverDive<'a>> {
    dives::of_dive(plan, first).filter(|one| one.dive.header == first.header)
}

/// Where a diver's dive stands: no two have the same.
pub(super) type DiveId = (FileId, Place, Place);

/// The dives of a plan and those around it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Timeline<'a> {
    /// The dives that lie before the plan's and leave something for them, in the order they are dived.
    pub before: Vec<Timed<'a>>,
    /// The plan's own, in its order.
    pub own: Vec<Timed<'a>>,
    /// Those of other plans of its day that are ready, each plan as it would go by itself: what a morning's dives leave
    /// makes the stops of the next ones longer, not their beginning earlier.
    pub beside: Vec<Timed<'a>>,
}

/// A dive of a plan, its alternatives taken with it, and when it is dived.
#[derive(Debug, Clone)]
pub(crate) struct Timed<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The dive.
    pub dive: &'a Dive,
    /// When it leaves the surface, where that is said or follows.
    pub begins_min: Option<f64>,
    /// How long its longest alternative has a diver under water, minutes.
    pub lasts: Result<f64, Vec<Missing>>,
    /// Its divers, alternatives left out.
    pub divers: Vec<DiverTimed<'a>>,
}

/// One diver's part in a dive.
#[derive(Debug, Clone)]
pub(crate) struct DiverTimed<'a> {
    /// The dive and the diver.
    pub dive: DiverDive<'a>,
    /// How long it lasts, minutes, and whether it has stops.
    pub took: Took,
}

/// One diver's dive, with when it is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Part<'t, 'a> {
    /// The dive.
    pub timed: &'t Timed<'a>,
    /// The diver's part in it.
    pub diver: &'t DiverTimed<'a>,
}

/// Minutes from that midnight to a time of a day; a plan that says no day has them from its own.
pub(crate) fn minute(on: Option<Date>, at: Time) -> f64 {
    let days = on.and_then(|on| date(1970, 1, 1).until(on).ok()).map_or(0, |span| span.get_days());
    f64::from(days) * DAY_MIN + f64::from(at.hour()) * 60.0 + f64::from(at.minute())
}

/// A moment as a clock shows it: `09:40`.
fn clock(minutes: f64) -> String {
    let of_day = minutes.rem_euclid(DAY_MIN);
    format!("{:02}:{:02}", (of_day / 60.0).floor(), (of_day % 60.0).floor())
}

impl<'a> Timed<'a> {
    /// A dive with the runs of its divers; the dive before it, if there is one, and the interval after that, as far as it is
    /// said.
    pub(super) fn of<'r>(
        plan: &'a Plan,
        dive: &'a Dive,
        before: Option<(&Timed<'_>, Option<f64>)>,
        ran: impl Iterator<Item = (&'r DiverDive<'a>, &'r Result<Simulated<'a>, Vec<Missing>>)>,
    ) -> Timed<'a>
    where
        'a: 'r,
    {
        let mut lasts: Result<f64, Vec<Missing>> = Ok(0.0);
        let mut divers = Vec::new();
        for (one, found) in ran {
            let took = match found {
                Ok(simulated) => Ok((simulated.ran.track.end.t_min, !simulated.ran.track.stops().is_empty())),
                Err(missing) => Err(missing.clone()),
            };
            match (&took, &mut lasts) {
                (Ok((minutes, _)), Ok(longest)) => *longest = longest.max(*minutes),
                (Err(missing), Err(known)) => known.extend(missing.iter().cloned()),
                (Err(missing), Ok(_)) => lasts = Err(missing.clone()),
                (Ok(_), Err(_)) => {}
            }
            if one.dive.header == dive.header {
                divers.push(DiverTimed { dive: *one, took });
            }
        }
        let said = dive.at.as_ref().map(|at| minute(plan.on.as_ref().map(|on| on.value), at.value));
        let follows = || before.and_then(|(before, interval)| Some(before.ends_min()? + interval?));
        Timed { plan, dive, begins_min: said.or_else(follows), lasts, divers }
    }

    /// The plan's day.
    pub(crate) fn day(&self) -> Option<Date> {
        self.plan.on.as_ref().map(|on| on.value)
    }

    /// When the last of its divers is back; an alternative is not dived.
    pub(super) fn ends_min(&self) -> Option<f64> {
        let took = self.divers.iter().filter_map(|diver| diver.took.as_ref().ok()).map(|(minutes, _)| *minutes);
        Some(self.begins_min? + took.fold(0.0, f64::max))
    }

    /// Its divers' parts.
    fn parts<'t>(&'t self) -> impl Iterator<Item = Part<'t, 'a>> {
        self.divers.iter().map(move |diver| Part { timed: self, diver })
    }

    /// Whether somebody of the one dive is under water while somebody of the other is; `None` where nobody can say.
    pub(crate) fn overlaps(&self, other: &Timed<'_>) -> Option<bool> {
        let (begins, others) = (self.begins_min?, other.begins_min?);
        let (first, lasts, second) =
            if begins <= others { (begins, &self.lasts, others) } else { (others, &other.lasts, begins) };
        Some(first == second || second < first + lasts.as_ref().ok()? - tolerance::MINUTES)
    }

    /// What it lacks without which nobody can say when it is dived.
    pub(crate) fn lacks(&self) -> Vec<Missing> {
        let fact = || format!("`at=` of dive {:?}", self.dive.name.value);
        let at = self.begins_min.is_none().then(|| Missing { place: self.dive.header.clone(), fact: fact() });
        at.into_iter().chain(self.lasts.as_ref().err().into_iter().flatten().cloned()).collect()
    }

    /// When it is dived: `from 09:40 to 10:27`.
    pub(crate) fn told(&self) -> Said {
        let begins = self.begins_min.map_or(String::new(), clock);
        // To the minute that it surely has ended by.
        match (self.begins_min, &self.lasts) {
            (Some(at), Ok(lasts)) => {
                said!("from {begins} to {ends}", begins, ends = clock((at + lasts - tolerance::MINUTES).ceil()))
            }
            _ => said!("from {begins}", begins),
        }
    }

    /// The dive as another plan's finding names it.
    pub(crate) fn named_from(&self, plan: &Plan) -> Said {
        match self.plan.file == plan.file {
            true => said!("dive {dive:?}", dive = self.dive.name.value),
            false => said!("dive {dive:?} of {plan:?}", dive = self.dive.name.value, plan = self.plan.name.value),
        }
    }
}

impl<'t, 'a> Part<'t, 'a> {
    /// Whether both are one diver's; two files may each have a diver of a name.
    pub(crate) fn is_of_diver_of(&self, other: &Part<'_, '_>) -> bool {
        fn defined(member: &TeamMember) -> Option<&Place> {
            member.diver.as_ref().map(|diver| &diver.name.place)
        }
        let (own, others) = (self.diver.dive.member, other.diver.dive.member);
        own.name.value == others.name.value && defined(own) == defined(others)
    }

    /// Whose it is.
    pub(crate) fn name(&self) -> &'a str {
        &self.diver.dive.member.name.value
    }

    /// When the diver is back at the surface.
    pub(crate) fn ends_min(&self) -> Option<f64> {
        Some(self.timed.begins_min? + self.diver.took.as_ref().ok()?.0)
    }

    /// Whether it has stops.
    pub(crate) fn has_stops(&self) -> bool {
        self.diver.took.as_ref().is_ok_and(|(_, stops)| *stops)
    }

    /// Whether the diver is under water on both, which nobody is; `None` where nobody can say.
    pub(crate) fn overlaps(&self, other: &Part<'_, '_>) -> Option<bool> {
        let (begins, others) = (self.timed.begins_min?, other.timed.begins_min?);
        let (first, second) = if begins <= others { (self.ends_min(), others) } else { (other.ends_min(), begins) };
        Some(begins == others || second < first? - tolerance::MINUTES)
    }
}

impl<'a> Timeline<'a> {
    /// All dives of a part's diver that lie before the plan's, are of it or stand beside it.
    pub(crate) fn of_diver<'t>(&'t self, of: Part<'t, 'a>) -> impl Iterator<Item = Part<'t, 'a>> {
        let own = self.own_parts().filter(move |part| part.is_of_diver_of(&of));
        own.chain(self.around(of))
    }

    /// Those of them that are of other plans.
    pub(crate) fn around<'t>(&'t self, of: Part<'t, 'a>) -> impl Iterator<Item = Part<'t, 'a>> {
        let others = self.before.iter().chain(&self.beside).flat_map(Timed::parts);
        others.filter(move |part| part.is_of_diver_of(&of))
    }

    /// The parts of the plan's own dives, in order.
    pub(crate) fn own_parts<'t>(&'t self) -> impl Iterator<Item = Part<'t, 'a>> {
        self.own.iter().flat_map(Timed::parts)
    }
}

/// Until when divers are under water, as the dives of one plan after the other are followed.
#[derive(Debug, Default)]
pub(super) struct UnderWater<'a>(BTreeMap<&'a str, f64>);

impl<'a> UnderWater<'a> {
    /// Whether a plan's dives begin while one of their divers is still on a dive followed before: then it is another word on
    /// those, or can't be dived, and leaves nothing of its own.
    pub(super) fn is_begun_in(&self, plan: &Plan) -> bool {
        let Some(first) = plan.dives.first() else { return false };
        let Some(at) = &first.at else { return false };
        let begins = minute(plan.on.as_ref().map(|on| on.value), at.value);
        let names = plan.dives.iter().flat_map(|dive| &dive.divers).map(|member| &*member.name.value);
        names.filter_map(|name| self.0.get(name)).any(|until| begins < until - tolerance::MINUTES)
    }

    /// Takes a plan's dives in.
    pub(super) fn follow(&mut self, dives: &[Timed<'a>]) {
        for part in dives.iter().flat_map(Timed::parts) {
            if let Some(ends) = part.ends_min() {
                let until = self.0.entry(part.name()).or_insert(ends);
                *until = until.max(ends);
            }
        }
    }
}
