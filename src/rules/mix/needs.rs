//! The least oxygen that a mix needs, and whether the depth leaves any mix at all.

use crate::findings::{Said, said};
use crate::forecast::dives::{DiverDive, Gas, fractions};
use crate::forecast::limits;
use crate::forecast::{Unknown, feed, oxygen};
use crate::physics::loop_balance::leanest_supply_o2;
use crate::physics::mix::richest_o2;
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Limit, Role, Work};
use crate::rules::say;
use crate::source::{Place, Placed};

/// The least oxygen that the supply mix must have for one reason.
#[derive(Debug, Clone)]
pub(crate) struct Need {
    /// Least oxygen, a fraction.
    pub o2: f64,
    /// The reason, to follow "the 31 % that".
    pub why: Said,
    /// Where it is set.
    pub place: Place,
    /// What the place has to do with it.
    pub what: &'static str,
    /// Formula, numbers, result, where it is worked out.
    pub working: Vec<(String, String, String)>,
}

/// What the unit's maker and the diver's hardest work ask of the mix; each `Err` is a fact that is missing.
pub(crate) fn minimum(dive: &DiverDive<'_>) -> [Result<Need, Unknown>; 2] {
    [by_the_maker(dive), by_the_work(dive)]
}

pub(in crate::rules) fn by_the_maker(dive: &DiverDive<'_>) -> Result<Need, Unknown> {
    let unit = dive.unit().ok_or(Unknown::SaidElsewhere)?;
    let lacks = || Unknown::lacks(&unit.name.place, format!("`needs o2=` of unit {:?}", unit.name.value));
    let needs = unit.thing.needs_percent.as_ref().ok_or_else(lacks)?;
    Ok(Need {
        o2: needs.value / 100.0,
        why: said!("unit {unit:?} needs", unit = unit.name.value),
        place: needs.place.clone(),
        what: "the leanest mix its maker allows",
        working: Vec::new(),
    })
}

pub(in crate::rules) fn by_the_work(dive: &DiverDive<'_>) -> Result<Need, Unknown> {
    let unit = dive.unit().ok_or(Unknown::SaidElsewhere)?;
    let lacks = || Unknown::lacks(&unit.name.place, format!("`floor o2=` of unit {:?}", unit.name.value));
    let floor = unit.thing.floor_percent.as_ref().ok_or_else(lacks)?;
    let feed = feed(dive)?.at_least();
    let metabolic = oxygen(dive, Work::Peak)?;
    let (f, q, v) = (floor.value / 100.0, feed.greatest_lpm(), metabolic.value.0);
    let o2 = leanest_supply_o2(f, q, v).ok_or(Unknown::SaidElsewhere)?;
    Ok(Need {
        o2,
        why: said!(
            "keeps the loop at its least oxygen of {floor} % while {diver} works at peak",
            floor = say::number(floor.value),
            diver = *dive.member.name
        ),
        place: metabolic.place,
        what: "the oxygen used at peak work",
        working: vec![
            (
                "Q = constant + controlled, at the low end".to_owned(),
                format!("{:.3} + {:.3}", feed.constant_lpm, feed.controlled_lpm),
                format!("{q:.3} free L/min"),
            ),
            (
                "Fs = F + V(1 − F)/Q, V in free litres".to_owned(),
                format!("{f:.4} + {v:.4}·(1 − {f:.4})/{q:.3}"),
                format!("{:.3} %", o2 * 100.0),
            ),
        ],
    })
}

/// Whether this rule speaks of a dive's supply.
pub(in crate::rules) fn is_below(dive: &DiverDive<'_>) -> bool {
    if leaves_none(dive) {
        return false;
    }
    let needs: Vec<Need> = minimum(dive).into_iter().flatten().collect();
    let lean = |gas: Gas<'_>| needs.iter().any(|need| fractions(gas.lean).o2 < need.o2 - tolerance::FRACTION);
    dive.kind() == Some(ApparatusKind::SemiClosed)
        && dive.cylinders(Role::Supply).any(|carried| dive.gas(carried).is_ok_and(lean))
}

/// What leaves no mix on a dive.
pub(in crate::rules) struct Clash<'a> {
    pub need: Need,
    pub depth: &'a Placed<f64>,
    pub limit: Limit,
    pub richest: f64,
}

pub(in crate::rules) fn clash<'a>(dive: &DiverDive<'a>) -> Option<Clash<'a>> {
    if dive.kind() != Some(ApparatusKind::SemiClosed) {
        return None;
    }
    let depth = dive.deepest()?;
    let limit = limits::po2(&dive.plan.limits, Role::Supply);
    let richest = richest_o2(depth.value, limit.value, &dive.water())?;
    let need = minimum(dive).into_iter().flatten().max_by(|a, b| a.o2.total_cmp(&b.o2))?;
    (need.o2 > richest + tolerance::FRACTION).then_some(Clash { need, depth, limit, richest })
}

/// Whether a dive leaves no mix at all: then a mix that is too lean only comes of it.
pub(in crate::rules) fn leaves_none(dive: &DiverDive<'_>) -> bool {
    clash(dive).is_some()
}
