//! `gradient-missing`: a plan that is ready gives no gradient.

use crate::findings::{Level, said};
use crate::forecast::{Simulated, dives};
use crate::physics::tissues::Gradients;
use crate::rules::{Context, Family, READY, Rule, Sink, say};
use crate::run::{Stops, Why, no_stop_min};
use crate::words::LimitName;

/// The rule: an error where the dive is near its stops.
pub(crate) const RULE: Rule =
    Rule::new("gradient-missing", Family::Exposure, Level::Warning, include_str!("gradient_missing.md"), look)
        .safety()
        .at(READY);

/// The gradient by which a dive that gives none is held to be near its stops, percent (common practice, no source).
const LOW: f64 = 30.0;
const HIGH: f64 = 70.0;
/// Fewer minutes without stops than this are near (common practice, no source).
const NEAR_MIN: f64 = 10.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan.filter(|plan| !plan.dives.is_empty()) else { return };
    let limits = &plan.limits;
    let which = match (limits.said(LimitName::GradientLow), limits.said(LimitName::GradientHigh)) {
        (Some(_), Some(_)) => return,
        (None, None) => "no `gradient low= high=`",
        (None, Some(_)) => "no `gradient low=`",
        (Some(_), None) => "no `gradient high=`",
    };
    let place = limits.place.clone().unwrap_or_else(|| plan.name.place.clone());
    let mut message = said!("the limits give {which}: no stops are worked out, and no ceiling is known", which);
    let runs = dives::of(plan).into_iter().filter_map(|dive| context.simulate(&dive).ok());
    let near = runs.filter_map(|simulated| Some((shortest_min(&simulated)?, simulated)));
    let nearest = near.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(minutes, _)| *minutes < NEAR_MIN);
    if let Some((minutes, simulated)) = &nearest {
        let left = say::minutes_had(*minutes);
        let left = match *minutes < 1.0 {
            true => said!("no time left without stops").with("left", left),
            false => said!("{left} min left without stops", left),
        };
        message += said!(
            "; at {low} and {high} % {diver} has {left} on dive {dive:?}",
            low = say::number(LOW),
            high = say::number(HIGH),
            diver = *simulated.dive.member.name,
            dive = *simulated.dive.dive.name,
            left
        );
    }
    let mut finding = RULE.finding(place, message);
    if let Some((_, simulated)) = nearest {
        finding.level = Level::Error;
        finding = finding.with_about(simulated.dive.about());
    }
    sink.find(finding);
}

/// The fewest minutes that are left without stops where a leg of the plan ends under water, but for the way home; `None`
/// where no limit comes.
fn shortest_min(simulated: &Simulated<'_>) -> Option<f64> {
    *simulated.ran.answer("shortest time without stops", &[], || shortest_left_min(simulated))
}

fn shortest_left_min(simulated: &Simulated<'_>) -> Option<f64> {
    let ran = &simulated.ran;
    let stops = Stops { gradients: Gradients::from_percent(LOW, HIGH), safety: None, ..ran.dive.home.stops? };
    let (track, sources) = (&ran.track, ran.dive.sources());
    let ends = track.legs.iter().zip(track.legs.iter().skip(1));
    let asked = ends.filter(|((_, leg), _)| matches!(leg.why, Why::Asked(_)));
    let left = asked.filter_map(|((_, leg), (ends_min, _))| {
        let state = track.at(*ends_min);
        let under = state.depth_m() > 1e-3;
        under.then(|| no_stop_min(&state, &sources, &stops, &ran.dive.home.ascent, leg.work)).flatten()
    });
    left.min_by(f64::total_cmp)
}
