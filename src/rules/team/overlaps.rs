//! Dives that overlap in time, within a plan or beside it, and what they have in common.

use jiff::civil::Time;

use crate::forecast::dives::{self, DiverDive};
use crate::forecast::{Day, Missing, Simulated};
use crate::physics::tolerance;
use crate::plan::{Dive, Plan};
use crate::rules::{Context, Sink};
use crate::source::{Place, Placed};

/// A dive of a plan, its alternatives taken with it, and when it is dived.
pub(super) struct Timed<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The dive.
    pub dive: &'a Dive,
    /// When it leaves the surface, minutes of the plan's day, where that is said or follows.
    begins: Option<f64>,
    /// How long its longest alternative has a diver under water, minutes.
    lasts: Result<f64, Vec<Missing>>,
}

/// A name that two dives have in common.
pub(super) struct Common<'a, 'b> {
    /// What it is, as a message says it: `unit "fen-3"`.
    pub what: String,
    /// Where the one dive names it.
    pub here: &'a Place,
    /// Where the other does.
    pub there: &'b Place,
}

/// A plan's dives with their times, the runs asked of `run`.
fn timed<'a>(plan: &'a Plan, run: impl Fn(&DiverDive<'a>) -> Result<Simulated<'a>, Vec<Missing>>) -> Vec<Timed<'a>> {
    let mut all: Vec<Timed<'a>> = Vec::new();
    let mut ended: Option<f64> = None;
    for (number, dive) in plan.dives.iter().enumerate() {
        let mut lasts: Result<f64, Vec<Missing>> = Ok(0.0);
        for one in dives::of_dive(plan, dive) {
            match (run(&one), &mut lasts) {
                (Ok(simulated), Ok(longest)) => *longest = longest.max(simulated.ran.track.end.t_min),
                (Err(missing), Err(known)) => known.extend(missing),
                (Err(missing), Ok(_)) => lasts = Err(missing),
                (Ok(_), Err(_)) => {}
            }
        }
        let interval = number.checked_sub(1).and_then(|before| plan.intervals_min.get(before)?.as_ref());
        let follows = || Some(ended? + interval?.value);
        let begins = dive.at.as_ref().map(|at| minute_of_day(at.value)).or_else(follows);
        ended = begins.and_then(|begins| Some(begins + lasts.as_ref().ok()?));
        all.push(Timed { plan, dive, begins, lasts });
    }
    all
}

/// The dives of the plan that is looked at.
pub(super) fn own<'a>(context: &Context<'a>) -> Vec<Timed<'a>> {
    context.plan.map(|plan| timed(plan, |dive| context.simulate(dive))).unwrap_or_default()
}

/// The dives of the plans of the day, each plan as it would go by itself: what a morning's dives leave makes the stops of
/// the next ones longer, not their beginning earlier.
pub(super) fn beside<'a>(context: &Context<'a>) -> Vec<Timed<'a>> {
    let of = |other: &'a crate::forecast::Earlier| {
        let day = Day::of(&other.scope, context.runs, &other.plan, &[]);
        timed(&other.plan, |dive| day.dive(dive))
    };
    context.beside.iter().flat_map(of).collect()
}

impl<'a> Timed<'a> {
    /// Whether somebody of the one dive is under water while somebody of the other is; `None` where nobody can say.
    pub(super) fn overlaps(&self, other: &Timed<'_>) -> Option<bool> {
        let (begins, others) = (self.begins?, other.begins?);
        let (first, second) = if begins <= others { (self, others) } else { (other, begins) };
        let begins = first.begins?;
        Some(begins == second || second < begins + first.lasts.as_ref().ok()? - tolerance::MINUTES)
    }

    /// Says what this dive lacks without which nobody can say when it is dived.
    pub(super) fn says_lacking(&self, sink: &mut Sink<'_>) {
        if self.begins.is_none() {
            sink.lacks(self.dive.header.clone(), format!("`at=` of dive {:?}", self.dive.name.value));
        }
        if let Err(missing) = &self.lasts {
            sink.lacks_all(missing.iter().cloned());
        }
    }

    /// When it is dived: `from 09:40 to 10:27`.
    pub(super) fn told(&self) -> String {
        let clock = |minutes: f64| format!("{:02}:{:02}", (minutes / 60.0).floor(), (minutes % 60.0).floor());
        let begins = self.begins.map_or(String::new(), clock);
        // To the minute that it surely has ended by.
        match (self.begins, &self.lasts) {
            (Some(at), Ok(lasts)) => format!("from {begins} to {}", clock((at + lasts - tolerance::MINUTES).ceil())),
            _ => format!("from {begins}"),
        }
    }

    /// The divers, units and cylinders that this dive and another both name, each once.
    pub(super) fn common<'b>(&self, other: &Timed<'b>) -> Vec<Common<'a, 'b>> {
        let mut common: Vec<Common<'a, 'b>> = Vec::new();
        let theirs = named(other.dive);
        for (what, name, defined) in named(self.dive) {
            let same = theirs.iter().find(|(kind, name_there, there)| {
                // Two files may each have a thing of a name.
                *kind == what && name_there.value == name.value && *there == defined
            });
            let Some((_, there, _)) = same else { continue };
            let what = if what == "diver" { name.value.clone() } else { format!("{what} {:?}", name.value) };
            if !common.iter().any(|known| known.what == what) {
                common.push(Common { what, here: &name.place, there: &there.place });
            }
        }
        common
    }
}

/// What a dive's divers are and take: the kind, the name, and where it is defined.
fn named(dive: &Dive) -> Vec<(&'static str, &Placed<String>, Option<&Place>)> {
    let divers = std::iter::once(dive).chain(&dive.otherwise).flat_map(|dive| &dive.divers);
    divers
        .flat_map(|member| {
            let diver = ("diver", &member.name, member.diver.as_ref().map(|diver| &diver.name.place));
            let unit = member.unit_name.iter().map(|name| {
                let defined = member.unit.as_ref().map(|unit| &unit.name.place);
                ("unit", name, defined)
            });
            let cylinders = member.cylinders.iter().map(|carried| {
                let defined = carried.cylinder.as_ref().map(|cylinder| &cylinder.name.place);
                ("cylinder", &carried.name, defined)
            });
            std::iter::once(diver).chain(unit).chain(cylinders).collect::<Vec<_>>()
        })
        .collect()
}

fn minute_of_day(time: Time) -> f64 {
    f64::from(time.hour()) * 60.0 + f64::from(time.minute())
}
