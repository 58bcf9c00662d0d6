//! A plan's legs as the run follows them.

use super::apparatus::can_hold;
use super::cylinders::Kit;
use super::{Lacks, USUAL_OXYGEN, Unknown, gas_lpm, oxygen};
use crate::forecast::dives::DiverDive;
use crate::plan::{self, ApparatusKind, LegKind, NameUse, Role, SwitchTo};
use crate::run::{Act, Ascent, Leg, Open, Way, Why, Work};
use crate::source::Placed;
use crate::words::LimitName;

/// The source that is the apparatus.
const APPARATUS: usize = 0;

/// The legs with what work at rest costs.
#[derive(Debug)]
pub(super) struct Course {
    pub legs: Vec<Leg>,
    pub rest: Work,
    /// How the way home is gone.
    pub ascent: Ascent,
}

/// The legs of a diver, and straight home where they end under water; `None` where a fact is lacking.
pub(super) fn of<'a>(dive: &DiverDive<'a>, kit: &Kit<'a>, lacks: &mut Lacks) -> Option<Course> {
    if dive.legs().is_empty() {
        lacks.hopeless = true;
        return None;
    }
    let kind = dive.kind()?;
    let mut way = Lowering {
        dive,
        kit,
        kind,
        gas: gas_lpm(dive),
        legs: Vec::new(),
        now_min: 0.0,
        depth_m: 0.0,
        on_loop: kind != ApparatusKind::Open,
        bailed_out: false,
        ascent: None,
        going: None,
    };
    let rest = way.work(plan::Work::Rest, lacks)?;
    for (number, leg) in dive.legs().iter().enumerate() {
        way.follow(number, leg, lacks)?;
    }
    let limits = &dive.plan.limits;
    let usual = dive.member.work.as_ref().map_or_else(|| limits.work(LimitName::WorkHome), |work| work.value);
    let usual = way.work(usual, lacks)?;
    if way.depth_m > 0.0 {
        way.go_home(None, usual, Why::WayHome);
    }
    ways_out(&mut way.legs, dive.plan.limits.value(LimitName::ExitPace));
    let ascent = way.ascent.unwrap_or_else(|| super::home::ascent(dive, usual));
    Some(Course { legs: way.legs, rest, ascent })
}

/// How much of the way in each leg that leads out undoes: where the divers go in once more, as much as the pace says; else
/// what is left, so that they are out where the last of them ends.
fn ways_out(legs: &mut [Leg], pace: f64) {
    let mut inside_min = 0.0;
    for number in 0..legs.len() {
        match legs[number].way {
            Some(Way::In(known)) => inside_min = known.unwrap_or(inside_min + legs[number].lasts_min),
            Some(Way::Out(_)) => {
                let ahead = legs[number..].iter().take_while(|leg| !leads_in(leg));
                let goes_in_again = legs[number..].iter().any(leads_in);
                let out_min: f64 =
                    ahead.filter(|leg| matches!(leg.way, Some(Way::Out(_)))).map(|leg| leg.lasts_min).sum();
                let undoes = if goes_in_again || out_min <= 0.0 { pace } else { inside_min / out_min };
                legs[number].way = Some(Way::Out(undoes));
                inside_min = (inside_min - undoes * legs[number].lasts_min).max(0.0);
            }
            _ => {}
        }
    }
}

fn leads_in(leg: &Leg) -> bool {
    matches!(leg.way, Some(Way::In(_)))
}

struct Lowering<'s, 'a> {
    dive: &'s DiverDive<'a>,
    kit: &'s Kit<'a>,
    kind: ApparatusKind,
    gas: Result<[f64; 5], Unknown>,
    legs: Vec<Leg>,
    now_min: f64,
    depth_m: f64,
    on_loop: bool,
    bailed_out: bool,
    ascent: Option<Ascent>,
    /// Which way the leg that is followed leads under something overhead.
    going: Option<Way>,
}

impl<'a> Lowering<'_, 'a> {
    /// What a level of work costs. Oxygen counts on a loop alone, gas on open circuit alone.
    fn work(&self, work: plan::Work, lacks: &mut Lacks) -> Option<Work> {
        let oxygen_lpm = match oxygen(self.dive, work) {
            Ok(oxygen) => oxygen.value.0,
            Err(_) if self.kind == ApparatusKind::Open => USUAL_OXYGEN[work as usize].free().0,
            Err(missing) => return lacks.take(Err(missing)),
        };
        let gas_lpm = match &self.gas {
            Ok(gas) => gas[work as usize],
            Err(_) if self.on_loop => 0.0,
            Err(missing) => return lacks.take(Err(missing.clone())),
        };
        Some(Work { oxygen_lpm, gas_lpm })
    }

    fn go(&mut self, to_m: f64, minutes: f64, work: Work, why: Why) {
        self.legs.push(Leg::new(to_m, minutes, work, why).going(self.going));
        self.now_min += minutes;
        self.depth_m = to_m;
    }

    /// To a depth at a rate, or as fast as usual: up in pieces, where that changes.
    fn change_depth(&mut self, to_m: f64, rate: Option<f64>, work: Work, why: Why) {
        match rate {
            Some(rate) => self.go(to_m, (to_m - self.depth_m).abs() / rate, work, why),
            None if to_m > self.depth_m => {
                let rate = self.dive.plan.limits.value(LimitName::DescentRate);
                self.go(to_m, (to_m - self.depth_m) / rate, work, why);
            }
            None => {
                for piece in super::home::ascent(self.dive, work).pieces(self.depth_m, to_m) {
                    self.go(piece.to_m, piece.minutes, work, why);
                }
            }
        }
    }

    /// To the surface, with the stops that the tissues ask for.
    fn go_home(&mut self, rate: Option<f64>, work: Work, why: Why) {
        let usual = super::home::ascent(self.dive, work);
        let ascent = rate.map_or(usual, |rate_m_per_min| Ascent { rate_m_per_min, ..usual });
        let minutes = self.depth_m / ascent.rate_m_per_min;
        if minutes > 0.0 {
            self.ascent = Some(ascent);
        }
        self.go(0.0, minutes, work, why);
        if let Some(leg) = self.legs.last_mut() {
            *leg = leg.with_stops();
        }
    }

    /// Follows a leg; `None` where a fact is lacking.
    fn follow(&mut self, number: usize, leg: &'a plan::Leg, lacks: &mut Lacks) -> Option<()> {
        let why = Why::Asked(number);
        let value = |fact: &plan::Maybe<f64>| fact.as_ref().map(|fact| fact.value);
        let depth = leg.depth_m().map(|depth| depth.value);
        // What a leg must say and doesn't is a defect of the text, and said as one.
        let mut said = |fact: Option<f64>| {
            lacks.hopeless |= fact.is_none();
            fact
        };
        let (to, minutes) = match &leg.kind {
            LegKind::Descend { .. } => (said(depth)?, None),
            LegKind::Travel { minutes, .. } | LegKind::Stop { minutes, .. } => {
                let to = said(depth)?;
                (to, Some(said(value(minutes))?))
            }
            LegKind::Ascend { .. } => (depth.unwrap_or(0.0), None),
            LegKind::Stay { minutes, until_min } => {
                let until = value(until_min).map(|until| (until - self.now_min).max(0.0));
                (self.depth_m, Some(said(value(minutes).or(until))?))
            }
            LegKind::OffLoop { minutes, .. } => (self.depth_m, Some(said(value(minutes))?)),
            LegKind::Switch(_)
            | LegKind::Drop(_)
            | LegKind::Take(_)
            | LegKind::SetPoint(_)
            | LegKind::Flush { .. }
            | LegKind::OnLoop { .. }
            | LegKind::BailOut { .. } => (self.depth_m, None),
        };
        let rate = leg.rate().map(|rate| rate.value).filter(|rate| *rate > 0.0);
        let limits = &self.dive.plan.limits;
        let pace = limits.value(LimitName::ExitPace);
        self.going = match (leg.way.as_ref().map(|way| way.value), value(&leg.exit_min)) {
            (Some(plan::Way::In), exit_min) => Some(Way::In(exit_min.map(|exit_min| exit_min * pace))),
            (_, Some(exit_min)) => Some(Way::Known(exit_min)),
            (Some(plan::Way::Out), None) => Some(Way::Out(0.0)),
            (None, None) => None,
        };
        let act = self.act(leg, lacks)?;
        let work = self.work(self.dive.work(leg), lacks)?;
        if act != Act::None {
            self.legs.push(Leg::new(self.depth_m, 0.0, work, why).doing(act));
        }
        match leg.kind {
            LegKind::Ascend { .. } if depth.is_none() => self.go_home(rate, work, why),
            LegKind::Descend { .. } | LegKind::Ascend { .. } => self.change_depth(to, rate, work, why),
            LegKind::Travel { .. } | LegKind::Stay { .. } | LegKind::OffLoop { .. } => {
                self.go(to, minutes?, work, why);
            }
            LegKind::Stop { .. } => {
                self.change_depth(to, rate, work, why);
                self.go(to, minutes?, work, why);
            }
            _ => {}
        }
        Some(())
    }

    /// What a leg does at its start; `None` where a fact is lacking.
    fn act(&mut self, leg: &'a plan::Leg, lacks: &mut Lacks) -> Option<Act> {
        Some(match &leg.kind {
            LegKind::Switch(to) => self.switch(to, lacks)?,
            LegKind::Drop(name) => self.of_cylinder(name, Act::LayDown, lacks)?,
            LegKind::Take(name) => self.of_cylinder(name, Act::TakeUp, lacks)?,
            LegKind::SetPoint(said) => match said.as_ref().filter(|said| can_hold(self.kind, said.value)) {
                Some(said) => Act::SetPoint(said.value),
                // Without a controller there is nothing to set.
                None if matches!(self.kind, ApparatusKind::Open | ApparatusKind::Passive) => Act::None,
                None => {
                    lacks.hopeless = true;
                    return None;
                }
            },
            LegKind::Flush { volumes } if self.on_loop => {
                Act::Flush(volumes.as_ref().map_or(1.0, |volumes| volumes.value))
            }
            LegKind::OffLoop { who, .. } if self.on_loop && self.is_meant(who.as_ref()) => {
                self.off_loop(Off::Drill, lacks)?
            }
            LegKind::OnLoop { who }
                if !self.on_loop
                    && !self.bailed_out
                    && self.kind != ApparatusKind::Open
                    && self.is_meant(who.as_ref()) =>
            {
                self.on_loop = true;
                Act::Breathe(APPARATUS)
            }
            LegKind::BailOut { who } if self.is_meant(who.as_ref()) => {
                self.bailed_out = true;
                if self.on_loop { self.off_loop(Off::ForGood, lacks)? } else { Act::None }
            }
            _ => Act::None,
        })
    }

    /// Whether a leg that says who means this diver.
    fn is_meant(&self, who: Option<&NameUse>) -> bool {
        who.is_none_or(|who| who.value == self.dive.member.name.value)
    }

    /// What is done with a cylinder; nothing by a diver who does not carry it.
    fn of_cylinder(&self, name: &NameUse, act: impl Fn(usize) -> Act, lacks: &mut Lacks) -> Option<Act> {
        let Some(carried) = self.dive.member.cylinders.iter().find(|carried| carried.name.value == name.value) else {
            return Some(Act::None);
        };
        Some(act(self.kit.known(carried, lacks)?))
    }

    /// Over to the gas of a role or a cylinder: back on the loop where that is what feeds it, else on open circuit.
    fn switch(&mut self, to: &'a Placed<SwitchTo>, lacks: &mut Lacks) -> Option<Act> {
        let named = match &to.value {
            SwitchTo::Role(_) => None,
            SwitchTo::Cylinder(name) => {
                let Some(carried) = self.dive.switched_to(&to.value).first().copied() else {
                    let diver = &*self.dive.member.name;
                    lacks.need(&to.place, format!("cylinder {name:?} among those of diver {diver:?}"));
                    return None;
                };
                Some(carried)
            }
        };
        let role = match (&to.value, named) {
            (SwitchTo::Role(role), _) => *role,
            (SwitchTo::Cylinder(_), carried) => carried?.role.value,
        };
        // One of several back cylinders that is said by its name is breathed by itself.
        let by_itself = named.is_some() && self.kind == ApparatusKind::Open;
        if Role::feeding(self.kind).contains(&role) && !self.bailed_out && !by_itself {
            self.on_loop = self.kind != ApparatusKind::Open;
            return Some(Act::Breathe(APPARATUS));
        }
        let cylinder = match named {
            Some(carried) => self.kit.known(carried, lacks)?,
            None => {
                // A role that the diver does not carry is what `needed` names.
                self.kit.needed(self.dive, role, lacks)?;
                self.kit.best(self.dive, role, self.bar(), lacks)?
            }
        };
        self.on_loop = false;
        Some(Act::Breathe(Open::source(cylinder)))
    }

    /// Off the loop: on a drill to what the mouthpiece gives, for good to the diver's own bailout first.
    fn off_loop(&mut self, off: Off, lacks: &mut Lacks) -> Option<Act> {
        let unit = self.dive.unit()?;
        let lever = unit.thing.mouthpiece.as_ref().and_then(|role| role.value);
        let roles = match off {
            Off::Drill => [lever, Some(Role::Bailout)],
            Off::ForGood => [Some(Role::Bailout), lever],
        };
        let carried = |role: &Role| self.dive.cylinders(*role).next().is_some();
        let Some(role) = roles.into_iter().flatten().find(carried) else {
            lacks.need(
                &self.dive.member.name.place,
                format!("a `bailout` cylinder of diver {:?}, or what the `mouthpiece` gives", *self.dive.member.name),
            );
            return None;
        };
        let cylinder = self.kit.best(self.dive, role, self.bar(), lacks)?;
        self.on_loop = false;
        Some(Act::Breathe(Open::source(cylinder)))
    }

    fn bar(&self) -> f64 {
        self.dive.water().pressure_bar(self.depth_m)
    }
}

/// Why a diver leaves the loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Off {
    Drill,
    ForGood,
}
