//! What a diver breathes from by plan, from the unit and its records.

use super::cylinders::Kit;
use super::{Lacks, feed, first_canister};
use crate::forecast::dives::DiverDive;
use crate::physics::SetPoint;
use crate::physics::absorbent::QUOTIENT;
use crate::plan::{Apparatus, ApparatusKind, Defined, Maybe, Role, Scope};
use crate::run::{self, Closed, Open, Passive, Scrubber, SemiClosed};

/// Minutes of pre-breathe where a unit says none (common practice, no source).
pub(crate) const PRE_BREATHE_MIN: f64 = 5.0;

/// The apparatus with what holds at the start.
#[derive(Debug)]
pub(super) struct Fitted {
    pub circuit: run::Circuit,
    pub feed_tolerance: f64,
    pub set_point: Option<SetPoint>,
    pub pre_breathe_min: f64,
    pub checks_l: f64,
}

/// The apparatus of a diver; `None` where a fact is lacking.
pub(super) fn of<'a>(scope: &Scope, dive: &DiverDive<'a>, kit: &Kit<'a>, lacks: &mut Lacks) -> Option<Fitted> {
    let Some(kind) = dive.kind() else {
        match dive.unit() {
            Some(unit) => lacks.need(&unit.name.place, format!("`kind=` of unit {:?}", unit.name.value)),
            None => lacks.hopeless = true,
        }
        return None;
    };
    if kind == ApparatusKind::Open {
        let circuit = run::Circuit::Open(Open { cylinder: kit.head(kit.needed(dive, Role::Back, lacks)?) });
        return Some(Fitted { circuit, feed_tolerance: 0.0, set_point: None, pre_breathe_min: 0.0, checks_l: 0.0 });
    }
    let unit = dive.unit()?;
    let on_loop = Loop { scope, dive, kit, unit };
    let (circuit, feed_tolerance) = match kind {
        ApparatusKind::SemiClosed => on_loop.semi_closed(lacks)?,
        ApparatusKind::Passive => (on_loop.passive(lacks)?, 0.0),
        _ => (on_loop.closed(lacks)?, 0.0),
    };
    Some(Fitted {
        circuit,
        feed_tolerance,
        set_point: on_loop.set_point(kind, lacks)?,
        pre_breathe_min: unit.thing.pre_breathe_min.as_ref().map_or(PRE_BREATHE_MIN, |minutes| minutes.value),
        checks_l: unit.thing.checks_l.as_ref().map_or(0.0, |litres| litres.value),
    })
}

struct Loop<'s, 'a> {
    scope: &'s Scope,
    dive: &'s DiverDive<'a>,
    kit: &'s Kit<'a>,
    unit: &'a Defined<Apparatus>,
}

impl Loop<'_, '_> {
    /// A fact of the unit's that the dive can't be run without.
    fn needed(&self, fact: &Maybe<f64>, what: &str, lacks: &mut Lacks) -> Option<f64> {
        match fact {
            Some(fact) => Some(fact.value),
            None => {
                lacks.need(&self.unit.name.place, format!("{what} of unit {:?}", self.unit.name.value));
                None
            }
        }
    }

    fn loop_l(&self, lacks: &mut Lacks) -> Option<f64> {
        self.needed(&self.unit.thing.loop_l, "the `loop` volume", lacks)
    }

    fn scrubber(&self) -> Scrubber {
        Scrubber { quotient: QUOTIENT, rated_co2: first_canister(self.scope, self.dive).map(|bed| bed.rated_co2) }
    }

    /// The most that the make-up valve gives.
    fn make_up_lpm(&self) -> Option<f64> {
        let unit = &self.unit.thing;
        let most = unit.make_up_max_lpm.as_ref().map_or(f64::INFINITY, |most| most.value);
        unit.make_up.as_ref().map(|there_is| if there_is.value { most } else { 0.0 })
    }

    /// The semi-closed loop, and how far its constant feed may be off.
    fn semi_closed(&self, lacks: &mut Lacks) -> Option<(run::Circuit, f64)> {
        let fed = lacks.take(feed(self.dive));
        let supply = self.kit.needed(self.dive, Role::Supply, lacks);
        let loop_l = self.loop_l(lacks);
        let make_up = self.make_up_lpm();
        if make_up.is_none() {
            self.needed(&None, "`make-up`", lacks);
        }
        let fed = fed?;
        let unit = SemiClosed {
            loop_l: loop_l?,
            feed: fed.feed,
            make_up_lpm: make_up?,
            supply: supply?,
            scrubber: self.scrubber(),
        };
        Some((run::Circuit::SemiClosed(unit), fed.tolerance))
    }

    fn passive(&self, lacks: &mut Lacks) -> Option<run::Circuit> {
        let unit = &self.unit.thing;
        let supply = self.kit.needed(self.dive, Role::Supply, lacks);
        let loop_l = self.loop_l(lacks);
        Some(run::Circuit::Passive(Passive {
            ratio: self.needed(&unit.spill_ratio, "`spill ratio=`", lacks)?,
            loop_l: loop_l?,
            compensated: unit.spill_compensated.as_ref().is_some_and(|compensated| compensated.value),
            supply: supply?,
            adds: true,
            scrubber: self.scrubber(),
        }))
    }

    fn closed(&self, lacks: &mut Lacks) -> Option<run::Circuit> {
        let (oxygen, diluent) =
            (self.kit.needed(self.dive, Role::Oxygen, lacks), self.kit.needed(self.dive, Role::Diluent, lacks));
        let inject = self.needed(&self.unit.thing.inject_lpm, "`inject=`", lacks);
        Some(run::Circuit::Closed(Closed {
            loop_l: self.loop_l(lacks)?,
            inject_lpm: inject?,
            // A closed loop that says nothing of it has a diluent valve.
            make_up_lpm: self.make_up_lpm().unwrap_or(f64::INFINITY),
            oxygen: oxygen?,
            diluent: diluent?,
            scrubber: self.scrubber(),
        }))
    }

    /// The set-point where there is a controller; `None` where it is lacking.
    fn set_point(&self, kind: ApparatusKind, lacks: &mut Lacks) -> Option<Option<SetPoint>> {
        let controlled = self.unit.thing.feed_controlled_lpm.as_ref().is_some_and(|lpm| lpm.value > 0.0);
        if kind == ApparatusKind::Passive || kind == ApparatusKind::SemiClosed && !controlled {
            return Some(None);
        }
        let Some(said) = &self.dive.member.set_point else {
            lacks.need(&self.dive.member.name.place, format!("the `set-point` of diver {:?}", *self.dive.member.name));
            return None;
        };
        if !can_hold(kind, said.value) {
            lacks.hopeless = true;
            return None;
        }
        Some(Some(said.value))
    }
}

/// A set-point that a loop of a kind can hold. One that it can't has a rule of its own.
pub(super) fn can_hold(kind: ApparatusKind, set_point: SetPoint) -> bool {
    matches!((kind, set_point), (ApparatusKind::SemiClosed, _) | (ApparatusKind::Closed, SetPoint::Bar(_)))
}
