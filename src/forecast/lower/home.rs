//! What the ways home of a dive are worked out from: gradients, gases in reach, and the body at the start.

use super::cylinders::Kit;
use super::{gas_lpm, oxygen};
use crate::forecast::dives::DiverDive;
use crate::physics::tissues::{Gradients, acclimatised_bar};
use crate::plan::{self, ApparatusKind, Carried, Role};
use crate::run::{Ascent, Body, Buddy, Home, Stops, Trials, WayOut, Work};
use crate::words::LimitName;

/// How stops are worked out; `None` where the plan gives no gradient, or one that can't be meant.
pub(super) fn stops(dive: &DiverDive<'_>) -> Option<Stops> {
    let limits = &dive.plan.limits;
    let (low, high) = (limits.set(LimitName::GradientLow)?.value, limits.set(LimitName::GradientHigh)?.value);
    let gradients = Gradients::from_percent(low, high);
    gradients.is_sane().then_some(stops_at(dive, gradients))
}

/// The fewest stops that any gradient asks for.
fn fewest_stops(dive: &DiverDive<'_>) -> Stops {
    stops_at(dive, Gradients::from_percent(100.0, 100.0))
}

/// The stops of a plan's limits at other gradients than its own.
fn stops_at(dive: &DiverDive<'_>, gradients: Gradients) -> Stops {
    let limits = &dive.plan.limits;
    let shallowest_m = limits.value(LimitName::ShallowestStop);
    Stops { gradients, grid_m: limits.value(LimitName::Grid), shallowest_m, safety: safety_stop(dive) }
}

/// A way up at the speed of a plan's limits.
pub(super) fn ascent(dive: &DiverDive<'_>, work: Work) -> Ascent {
    let limits = &dive.plan.limits;
    // Where nobody sets it, a leg that says a faster rate is as fast to the end.
    let last = limits.set(LimitName::AscentLast);
    Ascent {
        rate_m_per_min: limits.value(LimitName::AscentRate),
        last: last.map(|rate| (limits.value(LimitName::AscentWithin), rate.value)),
        work,
    }
}

/// The stop of a way up that needs none: its depth and minutes.
fn safety_stop(dive: &DiverDive<'_>) -> Option<(f64, f64)> {
    let limits = &dive.plan.limits;
    Some((limits.set(LimitName::SafetyStop)?.value, limits.value(LimitName::SafetyStopMinutes)))
}

/// Stops and the gases in reach.
pub(super) fn of<'a>(dive: &DiverDive<'a>, kit: &Kit<'a>, ascent: Ascent, rest: Work) -> Home {
    let kind = dive.kind();
    let lever = dive.unit().and_then(|unit| unit.thing.mouthpiece.as_ref()).and_then(|role| role.value);
    let main = match kind {
        Some(ApparatusKind::Open) => Some(Role::Back),
        _ => lever,
    };
    let roles =
        |order: &[&[Role]]| -> Vec<usize> { order.iter().flat_map(|roles| richest_first(kit, roles)).collect() };
    let main: &[Role] = main.as_slice();
    let said = stops(dive);
    Home {
        stops: said.or_else(|| Some(fewest_stops(dive))),
        fewest_stops: said.is_none(),
        exit_pace: Some(dive.plan.limits.value(LimitName::ExitPace)),
        planned: roles(&[&[Role::Deco, Role::Travel], main]),
        way_out: roles(&[&[Role::Deco], &[Role::Bailout, Role::Stage], main, &[Role::Spare]]),
        deco: roles(&[&[Role::Deco]]),
        spare: roles(&[&[Role::Spare]]),
        trials: trials(dive),
        ascent,
        out: gas_lpm(dive).ok().map(|lpm| way_out(dive, lpm, ascent, rest)),
    }
}

/// What contingencies are tried with. Work that nobody says the oxygen of is left out.
fn trials(dive: &DiverDive<'_>) -> Trials {
    let limits = &dive.plan.limits;
    let work = |level: plan::Work| {
        let oxygen_lpm = oxygen(dive, level).map_or(0.0, |oxygen| oxygen.value.0);
        let gas = gas_lpm(dive).map_or(0.0, |lpm| lpm[level as usize]);
        Work { oxygen_lpm, gas_lpm: gas }
    };
    Trials {
        react_min: react_min(dive),
        deeper_m: limits.value(LimitName::OverrunDepth),
        longer_min: limits.value(LimitName::OverrunTime),
        peak: work(plan::Work::Peak),
        heavy: work(plan::Work::Heavy),
        breathless_lpm: limits.value(LimitName::BreathlessGas),
        breathless_min: limits.value(LimitName::BreathlessMinutes),
        fades_min: limits.value(LimitName::BreathlessFades),
        buddy: buddy(dive),
    }
}

/// How long after an alarm the diver leaves the loop, minutes. Whoever dives a closed one looks at its PO2 every minute.
fn react_min(dive: &DiverDive<'_>) -> f64 {
    let limits = &dive.plan.limits;
    let usual =
        || if dive.kind() == Some(ApparatusKind::Closed) { REACT_CLOSED_MIN } else { limits.value(LimitName::React) };
    limits.set(LimitName::React).map_or_else(usual, |said| said.value)
}

/// What `react` is on a closed loop where nobody sets it, minutes (common practice, no source).
const REACT_CLOSED_MIN: f64 = 1.0;

/// Whether the way out must do for a buddy: on open circuit, and where the bailout of loops is planned for the team. Whoever
/// dives alone has none.
fn buddy(dive: &DiverDive<'_>) -> Buddy {
    let for_team = dive.dive.team_bailout.as_ref().is_some_and(|said| said.value);
    match dive.kind() {
        _ if dive.team().len() < 2 => Buddy::None,
        Some(ApparatusKind::Open) => Buddy::Asked,
        _ if for_team => Buddy::Asked,
        _ => Buddy::Told,
    }
}

/// The way out on open circuit.
fn way_out(dive: &DiverDive<'_>, gas_lpm: [f64; 5], ascent: Ascent, rest: Work) -> WayOut {
    let limits = &dive.plan.limits;
    let at = limits.work(LimitName::StressAt);
    let breathing = |gas_lpm: f64| Work { gas_lpm, ..rest };
    WayOut {
        problem_min: limits.value(LimitName::StressMinutes),
        problem: breathing(gas_lpm[at as usize]),
        ascent: Ascent {
            work: breathing(limits.value(LimitName::StressUp) * gas_lpm[plan::Work::Rest as usize]),
            ..ascent
        },
        divers: 1.0,
        fade: None,
    }
}

/// The cylinders of some roles, the richest first.
fn richest_first(kit: &Kit<'_>, roles: &[Role]) -> Vec<usize> {
    let is = |carried: &&Carried| roles.contains(&carried.role.value);
    let numbers = kit.carried.iter().enumerate().filter(|(_, carried)| is(carried)).map(|(number, _)| number);
    let mut numbers: Vec<usize> = numbers.collect();
    let o2 = |number: &usize| kit.inputs.get(*number).map_or(0.0, |input| input.filled.mix.o2);
    numbers.sort_by(|a, b| o2(b).total_cmp(&o2(a)));
    // Of those that are breathed from evenly one stands for all.
    numbers.retain(|number| kit.head(*number) == *number);
    numbers
}

/// The body of a diver who has not dived of late: used to the air of where it lives, or of the site after a day there.
pub(crate) fn body_at_rest(dive: &DiverDive<'_>) -> Body {
    let site = dive.plan.site.as_ref();
    let altitude = site.and_then(|site| site.altitude_m.as_ref()).map_or(0.0, |altitude| altitude.value);
    let diver = dive.diver();
    let since = diver.and_then(|diver| diver.lives_since.as_ref()).map(|since| since.value);
    let hours = match (since, dive.day()) {
        (Some(since), Some(day)) => since.until(day).map_or(0, |span| span.get_days()).max(0),
        _ => 0,
    };
    let lives = diver.and_then(|diver| diver.lives_altitude_m.as_ref()).map_or(0.0, |altitude| altitude.value);
    Body::at_rest(acclimatised_bar(altitude, dive.water().surface_bar, f64::from(hours) * 24.0, lives))
}
