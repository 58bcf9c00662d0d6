//! `mix-below-minimum`: the mix that feeds a loop is leaner than the unit, or the diver's hardest work, needs.

use crate::findings::Level;
use crate::forecast::dives::{DiverDive, Gas, fractions};
use crate::forecast::{feed, oxygen_free_lpm};
use crate::physics::loop_balance::leanest_supply_o2;
use crate::physics::mix::richest_o2;
use crate::plan::{ApparatusKind, Work};
use crate::rules::dives::{self, caused};
use crate::rules::limits;
use crate::rules::mix::{loop_below_floor, no_mix_fits};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, mix, say};
use crate::source::Place;

/// The rule.
pub const RULE: Rule =
    Rule::new("mix-below-minimum", Family::Mix, Level::Error, include_str!("mix_below_minimum.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

/// The least oxygen that the supply mix must have for one reason.
#[derive(Debug, Clone)]
pub struct Need {
    /// Least oxygen, a fraction.
    pub o2: f64,
    /// The reason, to follow "the 31 % that".
    pub why: String,
    /// Where it is set.
    pub place: Place,
    /// What the place has to do with it.
    pub what: &'static str,
    /// Formula, numbers, result, where it is worked out.
    pub working: Vec<(String, String, String)>,
}

/// What the unit's maker and the diver's hardest work ask of the mix; each `Err` is a fact that is missing.
pub fn minimum(dive: &DiverDive<'_>) -> [Result<Need, Option<(Place, String)>>; 2] {
    [by_the_maker(dive), by_the_work(dive)]
}

fn by_the_maker(dive: &DiverDive<'_>) -> Result<Need, Option<(Place, String)>> {
    let unit = dive.unit().ok_or(None)?;
    let lacks = || Some((unit.name.place.clone(), format!("`needs o2=` of unit {:?}", unit.name.value)));
    let needs = unit.thing.needs_percent.as_ref().ok_or_else(lacks)?;
    Ok(Need {
        o2: needs.value / 100.0,
        why: format!("unit {:?} needs", unit.name.value),
        place: needs.place.clone(),
        what: "the leanest mix its maker allows",
        working: Vec::new(),
    })
}

fn by_the_work(dive: &DiverDive<'_>) -> Result<Need, Option<(Place, String)>> {
    let unit = dive.unit().ok_or(None)?;
    let lacks = || Some((unit.name.place.clone(), format!("`floor o2=` of unit {:?}", unit.name.value)));
    let floor = unit.thing.floor_percent.as_ref().ok_or_else(lacks)?;
    let feed = feed(dive)?.at_least();
    let metabolic = oxygen_free_lpm(dive, Work::Peak)?;
    let (f, q, v) = (floor.value / 100.0, feed.greatest_lpm(), metabolic.value);
    let o2 = leanest_supply_o2(f, q, v).ok_or(None)?;
    Ok(Need {
        o2,
        why: format!(
            "holds the loop at its floor of {} % while {} works at peak",
            say::number(floor.value),
            *dive.member.name
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
pub fn is_below(context: &Context<'_>, dive: &DiverDive<'_>) -> bool {
    if no_mix_fits::leaves_none(context, dive) {
        return false;
    }
    let needs: Vec<Need> = minimum(dive).into_iter().flatten().collect();
    let lean = |gas: Gas<'_>| needs.iter().any(|need| fractions(gas.lean).o2 < need.o2 - 1e-9);
    dive.kind() == Some(ApparatusKind::SemiClosed)
        && dive.cylinders("supply").any(|carried| dive.gas(carried).is_ok_and(lean))
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        let kind = dive.kind();
        if !matches!(kind, Some(ApparatusKind::SemiClosed | ApparatusKind::Passive)) {
            continue;
        }
        // Where no mix fits, one that is too lean only comes of it.
        if no_mix_fits::leaves_none(context, &dive) {
            continue;
        }
        // A passive unit's feed follows the breath: only its maker's word can be held against the mix alone.
        let needs = match kind {
            Some(ApparatusKind::Passive) => vec![by_the_maker(&dive)],
            _ => minimum(&dive).into(),
        };
        let mut known = Vec::new();
        for need in needs {
            match need {
                Ok(need) => known.push(need),
                Err(Some((place, fact))) => sink.lacks(place, fact),
                Err(None) => {}
            }
        }
        for carried in dive.cylinders("supply") {
            match dive.gas(carried) {
                Ok(gas) => one(context, &dive, &gas, &known, sink),
                Err(Some((place, fact))) => sink.lacks(place, fact),
                Err(None) => {}
            }
        }
    }
}

fn one<'a>(context: &Context<'a>, dive: &DiverDive<'a>, gas: &Gas<'_>, needs: &[Need], sink: &mut Sink<'_>) {
    let o2 = fractions(gas.lean).o2;
    let unmet = needs.iter().filter(|need| o2 < need.o2 - 1e-9);
    let Some(need) = unmet.max_by(|a, b| a.o2.total_cmp(&b.o2)) else { return };
    let falls = context.simulate(dive).ok().and_then(|simulated| loop_below_floor::least(&simulated));
    let falls_to = falls.map(|(o2, at)| {
        format!("; as planned the loop falls to {} % {}", say::percent_had(o2), say::into_the_dive(at))
    });
    let richest = dive.deepest().and_then(|depth| {
        let limit = limits::po2(context, dive.plan, &gas.carried.role.value);
        richest_o2(depth.value, limit.value, &dive.water())
    });
    let allows = richest.filter(|richest| *richest < 1.0);
    let allows = allows.map(|richest| format!("; the depth allows {} %", say::percent_at_most(richest)));
    let message = format!(
        "supply {:?} has {} % oxygen, leaner than the {} % that {}{}{}",
        gas.cylinder.name.value,
        say::number(gas.lean.o2_percent),
        say::percent_needed(need.o2),
        need.why,
        allows.unwrap_or_default(),
        falls_to.unwrap_or_default()
    );
    let mut finding = RULE.finding(gas.lean.place.clone(), message).with_about(dive.about());
    finding = caused(context, finding, &gas.lean.place, &gas.carried.name.place, "the mix");
    finding = finding.with_related(need.place.clone(), need.what);
    for (formula, numbers, result) in &need.working {
        finding = finding.with_step(formula, numbers, result);
    }
    finding.fixes.extend(fix::another_cylinder(context, dive, gas.carried, |gas| mix::suits(context, dive, gas)));
    // What can't be waived of the loop can't be waived of the mix that causes it.
    finding.stands = falls.is_some();
    sink.find(finding);
}
