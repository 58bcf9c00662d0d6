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
/// The least that is suggested in bar (common practice, no source).
const LEAST_SET_POINT_BAR: f64 = 0.4;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        held_by_nothing(context, &dive, sink);
    }
    for dive in dives::all(context).into_iter().filter(|dive| dive.kind() == Some(ApparatusKind::SemiClosed)) {
        for carried in dive.cylinders(Role::Supply) {
            match dive.gas(carried) {
                Ok(gas) => asked(&dive).iter().for_each(|asked| one(context, &dive, &gas, asked, sink)),
                Err(unknown) => sink.lacks_all(unknown.missing()),
            }
        }
    }
}

/// A set-point that a dive asks for.
struct Asked<'a> {
    said: &'a Placed<SetPoint>,
    /// The deepest place that it is in force at, metres.
    deepest_m: Option<f64>,
    /// The shallowest place that the diver stays at with it, metres.
    shallowest_m: Option<f64>,
    /// Whether the dive begins with it.
    first: bool,
}

/// All set-points of a dive, with where they are in force.
fn asked<'a>(dive: &DiverDive<'a>) -> Vec<Asked<'a>> {
    let new = |said, first| Asked { said, deepest_m: None, shallowest_m: None, first };
    let mut all: Vec<Asked<'a>> = dive.member.set_point.iter().map(|said| new(said, true)).collect();
    let mut depth_m = None;
    for leg in dive.legs() {
        depth_m = leg.depth_m().map(|depth| depth.value).or(depth_m);
        match &leg.kind {
            LegKind::SetPoint(Some(said)) => all.push(new(said, false)),
            LegKind::Ascend { .. } => {}
            kind => {
                let Some(asked) = all.last_mut() else { continue };
                asked.deepest_m = depth_m.into_iter().chain(asked.deepest_m).reduce(f64::max);
                if matches!(kind, LegKind::Stay { .. }) {
                    let shallower = |seen: f64| depth_m.map_or(seen, |depth_m| seen.min(depth_m));
                    asked.shallowest_m = asked.shallowest_m.map(shallower).or(depth_m);
                }
            }
        }
    }
    all
}

impl Asked<'_> {
    /// The fraction that is asked for at a depth; `None` for a pressure at a depth that is not said.
    fn fraction_at(&self, dive: &DiverDive<'_>, depth_m: Option<f64>) -> Option<f64> {
        let bar = || depth_m.map(|depth_m| dive.water().pressure_bar(depth_m));
        self.said.value.fraction().or_else(|| Some(self.said.value.fraction_at(bar()?)))
    }

    /// As it is told: in percent, or in bar with what that is at a depth.
    fn told(&self, dive: &DiverDive<'_>, depth_m: Option<f64>) -> Said {
        match (self.said.value, depth_m) {
            (SetPoint::Fraction(o2), _) => said!("{set_point} %", set_point = say::number(o2 * 100.0)),
            (SetPoint::Bar(bar), Some(depth_m)) => {
                let percent = say::down(self.said.value.fraction_at(dive.water().pressure_bar(depth_m)) * 100.0, 0.1);
                said!(
                    "{bar} bar ({percent} % at {depth} m)",
                    bar = say::number(bar),
                    percent = say::number(percent),
                    depth = say::number(depth_m)
                )
            }
            (SetPoint::Bar(bar), None) => said!("{bar} bar", bar = say::number(bar)),
        }
    }
}

fn one(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, asked: &Asked<'_>, sink: &mut Sink<'_>) {
    let leaner = |depth_m| asked.fraction_at(dive, depth_m).is_some_and(|o2| fractions(gas.lean).o2 <= o2);
    if leaner(asked.deepest_m) {
        too_lean(context, dive, gas, asked, sink);
    } else if leaner(asked.shallowest_m) {
        open_all_the_time(dive, gas, asked, sink);
    } else if asked.first {
        too_slow(context, dive, gas, asked, sink);
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

fn too_lean(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, asked: &Asked<'_>, sink: &mut Sink<'_>) {
    let message = said!(
        "a set-point of {asked} is out of reach of supply {cylinder:?}, which has {o2} % oxygen itself",
        asked = asked.told(dive, asked.deepest_m),
        cylinder = gas.cylinder.name.value,
        o2 = say::number(gas.lean.o2_percent)
    );
    let mut finding = RULE.finding(asked.said.place.clone(), message).with_about(dive.about());
    finding = finding.with_related(gas.lean.place.clone(), "the mix");
    finding.fixes.extend(held(dive, gas).and_then(|held| lower(context, dive, asked, held)));
    finding.fixes.extend(fix::another_cylinder(context, dive, gas.carried, |gas| mix::suits(dive, gas)));
    sink.find(finding);
}

/// A pressure that the loop is held at deep down, but that the supply can't bring it to where the diver stays as well.
fn open_all_the_time(dive: &DiverDive<'_>, gas: &Gas<'_>, asked: &Asked<'_>, sink: &mut Sink<'_>) {
    let message = said!(
        "a set-point of {asked} is out of reach there of supply {cylinder:?}, which has {o2} % oxygen itself: the feed stands open",
        asked = asked.told(dive, asked.shallowest_m),
        cylinder = gas.cylinder.name.value,
        o2 = say::number(gas.lean.o2_percent)
    );
    let mut finding = RULE.finding(asked.said.place.clone(), message).with_about(dive.about());
    finding.level = Level::Warning;
    sink.find(finding.with_related(gas.lean.place.clone(), "the mix"));
}

/// What the loop settles at with the whole feed open at the hardest work that the plan asks for.
fn held(dive: &DiverDive<'_>, gas: &Gas<'_>) -> Option<f64> {
    let feed = feed(dive).ok()?.at_least();
    let metabolic = oxygen(dive, dive.hardest()).ok()?;
    steady_o2(feed.greatest_lpm(), fractions(gas.lean).o2, metabolic.value.0)
}

fn too_slow(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, asked: &Asked<'_>, sink: &mut Sink<'_>) {
    let Some(f) = asked.fraction_at(dive, asked.deepest_m) else { return };
    let work = dive.hardest();
    let (feed, metabolic) = match (feed(dive), oxygen(dive, work)) {
        (Ok(feed), Ok(metabolic)) => (feed.at_least(), metabolic),
        (feed, metabolic) => {
            sink.lacks_all([feed.err(), metabolic.err()].into_iter().flatten().filter_map(Unknown::missing));
            return;
        }
    };
    let (fs, v) = (fractions(gas.lean).o2, metabolic.value.0);
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
        "a set-point of {asked} takes {needed} L/min at {work} work, more than the {greatest} L/min that the feed may give: the loop settles at {held} %",
        asked = asked.told(dive, asked.deepest_m),
        needed = say::number(say::up(needed, 0.1)),
        work = work.word(),
        greatest = say::number(say::down(greatest, 0.1)),
        held = say::percent_had(held)
    );
    let mut finding = RULE.finding(asked.said.place.clone(), message).with_about(dive.about());
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
    finding.fixes.extend(lower(context, dive, asked, held));
    sink.find(finding);
}

/// Suggests a lower set-point for a fraction that the loop is held at, in whole percent or in twentieths of a bar, if there
/// is one.
fn lower(context: &Context<'_>, dive: &DiverDive<'_>, asked: &Asked<'_>, held: f64) -> Option<Fix> {
    let (to, least, unit) = match asked.said.value {
        SetPoint::Fraction(_) => (say::down(held * 100.0, 1.0), LEAST_SET_POINT, "%"),
        SetPoint::Bar(_) => {
            (say::down(held * dive.water().pressure_bar(asked.deepest_m?), 0.05), LEAST_SET_POINT_BAR, "bar")
        }
    };
    if to < least {
        return None;
    }
    let edit = fix::metric(context, &asked.said.place, to, None)?;
    Some(Fix { title: format!("ask for {} {unit}", say::number(to)), kind: FixKind::Suggested, edits: vec![edit] })
}
