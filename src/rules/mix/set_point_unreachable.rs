//! `set-point-unreachable`: the loop can't be brought to the oxygen that is asked of it.

use super::needs::minimum;
use crate::findings::{Fix, FixKind, Level, Said, said};
use crate::forecast::dives::{DiverDive, Gas, fractions};
use crate::forecast::{Unknown, feed, oxygen};
use crate::physics::SetPoint;
use crate::physics::loop_balance::{feed_that_holds_lpm, steady_o2};
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, LegKind, Role};
use crate::rules::dives;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, mix, say};
use crate::source::Placed;

/// The rule: an error where no flow would do, a warning where this unit's flow won't at the planned work.
pub(crate) const RULE: Rule =
    Rule::new("set-point-unreachable", Family::Mix, Level::Error, include_str!("set_point_unreachable.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

/// The leanest set-point that a semi-closed loop takes, percent: the oxygen of air.
const LEAST_SET_POINT: f64 = 21.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        held_by_nothing(context, &dive, sink);
    }
    for dive in dives::all(context).into_iter().filter(|dive| dive.kind() == Some(ApparatusKind::SemiClosed)) {
        let Some(said) = &dive.member.set_point else { continue };
        let Some(held) = said.value.fraction() else { continue };
        let set_point = &said.clone().map(|_| held);
        for carried in dive.cylinders(Role::Supply) {
            match dive.gas(carried) {
                Ok(gas) if fractions(gas.lean).o2 <= set_point.value => too_lean(context, &dive, &gas, set_point, sink),
                Ok(gas) => too_slow(context, &dive, &gas, set_point, sink),
                Err(unknown) => sink.lacks_all(unknown.missing()),
            }
        }
    }
}

/// A set-point that the diver's kind of loop can't be held at, whatever the gas.
fn held_by_nothing(context: &Context<'_>, dive: &DiverDive<'_>, sink: &mut Sink<'_>) {
    let (Some(kind), Some(unit)) = (dive.kind(), dive.unit()) else { return };
    let on_legs = dive.legs().iter().filter_map(|leg| match &leg.kind {
        LegKind::SetPoint(said) => said.as_ref(),
        _ => None,
    });
    let controlled = unit.thing.feed_controlled_lpm.as_ref().is_some_and(|lpm| lpm.value > 0.0);
    let name = &unit.name.value;
    for said in dive.member.set_point.iter().chain(on_legs) {
        let why = match (kind, said.value) {
            // A unit whose feed is not written at all lacks a fact.
            (ApparatusKind::SemiClosed, _) if unit.thing.feed.is_some() && !controlled => {
                said!("unit {unit:?} has no controlled feed that could hold a set-point", unit = name)
            }
            (ApparatusKind::Passive, _) => {
                said!("unit {unit:?} is passive: nothing in it could hold a set-point", unit = name)
            }
            (ApparatusKind::SemiClosed, SetPoint::Bar(bar)) => {
                let depth = dive.deepest().map(|depth| (depth.value, bar / dive.water().pressure_bar(depth.value)));
                let there = depth.map_or_else(Said::default, |(depth_m, o2)| {
                    let percent = say::number(say::down(o2 * 100.0, 0.1));
                    said!(
                        " ({bar} bar are {percent} % at {depth} m)",
                        bar = say::number(bar),
                        depth = say::number(depth_m),
                        percent
                    )
                });
                said!(
                    "the set-point of semi-closed unit {unit:?} is a percentage of oxygen, not bar{there}",
                    unit = name,
                    there
                )
            }
            (ApparatusKind::Closed, SetPoint::Fraction(_)) => {
                said!("the set-point of closed unit {unit:?} is a pressure in bar, not a percentage", unit = name)
            }
            _ => continue,
        };
        let finding = RULE.finding(said.place.clone(), why).with_about(dive.about());
        let finding = dives::said_at(context, dive.plan, finding, &said.place);
        sink.find(finding.with_related(unit.name.place.clone(), "the unit"));
    }
}

fn too_lean(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, set_point: &Placed<f64>, sink: &mut Sink<'_>) {
    let message = said!(
        "a set-point of {set_point} % is out of reach of supply {cylinder:?}, which has {o2} % oxygen itself",
        set_point = say::number(set_point.value * 100.0),
        cylinder = gas.cylinder.name.value,
        o2 = say::number(gas.lean.o2_percent)
    );
    let mut finding = RULE.finding(set_point.place.clone(), message).with_about(dive.about());
    finding = finding.with_related(gas.lean.place.clone(), "the mix");
    finding.fixes.extend(held(dive, gas).and_then(|held| lower(context, set_point, held * 100.0)));
    finding.fixes.extend(fix::another_cylinder(context, dive, gas.carried, |gas| mix::suits(dive, gas)));
    sink.find(finding);
}

/// What the loop settles at with the whole feed open at the hardest work that the plan asks for.
fn held(dive: &DiverDive<'_>, gas: &Gas<'_>) -> Option<f64> {
    let feed = feed(dive).ok()?.at_least();
    let metabolic = oxygen(dive, dive.hardest()).ok()?;
    steady_o2(feed.greatest_lpm(), fractions(gas.lean).o2, metabolic.value.0)
}

fn too_slow(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, set_point: &Placed<f64>, sink: &mut Sink<'_>) {
    let work = dive.hardest();
    let (feed, metabolic) = match (feed(dive), oxygen(dive, work)) {
        (Ok(feed), Ok(metabolic)) => (feed.at_least(), metabolic),
        (feed, metabolic) => {
            sink.lacks_all([feed.err(), metabolic.err()].into_iter().flatten().filter_map(Unknown::missing));
            return;
        }
    };
    let (f, fs, v) = (set_point.value, fractions(gas.lean).o2, metabolic.value.0);
    // A mix that is too lean for the unit has a rule of its own, and this is what comes of it.
    if minimum(dive).iter().flatten().any(|need| fs < need.o2) {
        return;
    }
    let greatest = feed.greatest_lpm();
    let Some(needed) = feed_that_holds_lpm(f, fs, v).filter(|needed| *needed > greatest + tolerance::LPM) else {
        return;
    };
    let held = held(dive, gas).unwrap_or(0.0).max(0.0);
    let message = said!(
        "a set-point of {set_point} % takes {needed} L/min at {work} work, more than the {greatest} L/min that the feed may give: the loop settles at {held} %",
        set_point = say::number(set_point.value * 100.0),
        needed = say::number(say::up(needed, 0.1)),
        work = work.word(),
        greatest = say::number(say::down(greatest, 0.1)),
        held = say::percent_had(held)
    );
    let mut finding = RULE.finding(set_point.place.clone(), message).with_about(dive.about());
    finding.level = Level::Warning;
    finding = finding
        .with_related(gas.lean.place.clone(), "the mix")
        .with_related(metabolic.place.clone(), "the oxygen used")
        .with_step(
            "Q = V(1 − F)/(Fs − F)",
            format!("{v:.4}·(1 − {f:.4})/({fs:.4} − {f:.4})"),
            format!("{needed:.3} free L/min"),
        )
        .with_step(
            "F = (Q·Fs − V)/(Q − V)",
            format!("({greatest:.3}·{fs:.4} − {v:.4})/({greatest:.3} − {v:.4})"),
            format!("{held:.5}"),
        );
    finding.fixes.extend(lower(context, set_point, held * 100.0));
    sink.find(finding);
}

/// Suggests a lower set-point, in whole percent, if there is one.
fn lower(context: &Context<'_>, set_point: &Placed<f64>, to: f64) -> Option<Fix> {
    let to = say::down(to, 1.0);
    if to < LEAST_SET_POINT {
        return None;
    }
    let edit = fix::metric(context, &set_point.place, to, None)?;
    Some(Fix { title: format!("ask for {} %", say::number(to)), kind: FixKind::Suggested, edits: vec![edit] })
}
