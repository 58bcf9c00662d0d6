//! How long the stops of a way home are, against what is allowed.

use crate::findings::{Said, Wording, said};
use crate::forecast::Simulated;
use crate::forecast::dives::DiverDive;
use crate::physics::tolerance;
use crate::plan::{LegKind, Training};
use crate::rules::runs::lacks_gradient;
use crate::rules::unit::is_loop;
use crate::rules::{Context, Rule, Sink, fix, say};
use crate::run::Halt;
use crate::source::Place;
use crate::words::LimitName;

/// What is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Allowed {
    /// No stops at all.
    None,
    /// Some minutes.
    Some,
}

/// A bound on the minutes of stops, whose it is, and where it is said.
struct Bound {
    minutes: f64,
    whose: Said,
    place: Place,
}

/// Says where the stops of a dive are longer than the least that is allowed, if that is none, or some.
pub(super) fn one(
    context: &Context<'_>,
    simulated: &Simulated<'_>,
    sink: &mut Sink<'_>,
    rule: &Rule,
    allowed: Allowed,
) {
    let dive = &simulated.dive;
    let mut bounds = bounds(dive);
    if minutes(&simulated.ran.track.stops()) > 0.0 {
        says_lacking(dive, sink);
    }
    bounds.sort_by(|a, b| a.minutes.total_cmp(&b.minutes));
    let Some(least) = bounds.first() else { return };
    if (least.minutes <= 0.0) != (allowed == Allowed::None) {
        return;
    }
    let track = &simulated.ran.track;
    let needed = minutes(&track.stops());
    // Stops that never end are more than anything that is allowed.
    let never = track.never_surfaces().is_some();
    if needed <= least.minutes + tolerance::MINUTES && !never {
        lacks_gradient(simulated, sink);
        return;
    }
    let Some(home) = dive.legs().iter().rfind(|leg| matches!(leg.kind, LegKind::Ascend { .. })) else { return };
    let needs = match never {
        true => said!("stops that never end"),
        false => said!("{needs} min of stops", needs = say::number(say::up(needed, 1.0))),
    };
    let most = match allowed {
        Allowed::None => said!("none"),
        Allowed::Some => said!("{allows} min", allows = say::minutes_had(least.minutes)),
    };
    let at_least = Wording(if simulated.ran.dive.home.fewest_stops && !never { "at least " } else { "" });
    let mut message = said!(
        "{diver} needs {at_least}{needs}: {whose} allows {most}",
        diver = *dive.member.name,
        whose = least.whose,
        at_least,
        needs,
        most
    );
    if simulated.ran.dive.home.fewest_stops {
        message += said!("; no gradient is given, and none asks for less");
    }
    let mut finding = rule.finding(home.place.clone(), message).with_about(dive.about());
    for bound in bounds.iter().take_while(|bound| bound.minutes < needed || never) {
        finding = finding.with_related(bound.place.clone(), format!("what {} allows", bound.whose));
    }
    let each: Vec<String> = track
        .stops()
        .iter()
        .map(|stop| format!("{} min at {} m", say::number(say::up(stop.minutes, 1.0)), say::number(stop.depth_m)))
        .collect();
    if !never {
        finding = finding.with_step(
            format!("stops, ZH-L16C with {}", gradient(simulated)),
            each.join(" + "),
            format!("{needed:.1} min"),
        );
    }
    finding.fixes.extend(fix::shorter_stay(context, simulated, &simulated.ran.dive, |_, track, _| {
        minutes(&track.stops()) <= least.minutes + tolerance::MINUTES
    }));
    sink.find(finding);
}

/// The gradient that stops are worked out with, in words.
pub(super) fn gradient(simulated: &Simulated<'_>) -> &'static str {
    match simulated.ran.dive.home.fewest_stops {
        true => "no gradient given: the fewest that any asks for",
        false => "the plan's gradient",
    }
}

fn minutes(stops: &[Halt]) -> f64 {
    stops.iter().map(|stop| stop.minutes).sum()
}

fn bounds(dive: &DiverDive<'_>) -> Vec<Bound> {
    let mut bounds = Vec::new();
    if let Some(unit) = dive.unit()
        && let Some(reach) = &unit.thing.reach_deco_min
    {
        let whose = said!("unit {unit:?}", unit = unit.name.value);
        bounds.push(Bound { minutes: reach.value, whose, place: reach.place.clone() });
    }
    let said = held(dive).filter_map(|training| training.deco_min.as_ref());
    let most = said.max_by(|a, b| a.value.total_cmp(&b.value));
    if let Some(course) = dive.taught() {
        if let Some(deco) = &course.thing.deco_min {
            let whose = said!("course {course:?}", course = course.name.value);
            bounds.push(Bound { minutes: deco.value, whose, place: deco.place.clone() });
        }
    } else if let Some(deco) = most {
        let whose = said!("the training of {trained}", trained = *dive.member.name);
        bounds.push(Bound { minutes: deco.value, whose, place: deco.place.clone() });
    }
    if let Some(deco) = dive.plan.limits.set(LimitName::Deco) {
        bounds.push(Bound { minutes: deco.value, whose: said!("the limits"), place: deco.place });
    }
    bounds
}

/// The diver's trainings for the apparatus, up to the day.
fn held<'a>(dive: &DiverDive<'a>) -> impl Iterator<Item = &'a Training> {
    let trained = dive.diver().into_iter().flat_map(|diver| &diver.trained);
    let held: Vec<_> = trained.filter(|training| dive.is_covered_by(training)).collect();
    held.into_iter().map(|training| &training.what)
}

/// Says whose word on stops is lacking, on a dive that has some.
fn says_lacking(dive: &DiverDive<'_>, sink: &mut Sink<'_>) {
    if let Some(unit) = dive.unit().filter(|unit| is_loop(&unit.thing) && unit.thing.reach_deco_min.is_none()) {
        let named = dive.member.unit_name.as_ref().map_or(&unit.name.place, |name| &name.place);
        sink.lacks(named.clone(), format!("`reach deco=` of unit {:?}", unit.name.value));
    }
    // A student's stops are the course's.
    if dive.taught().is_some() {
        return;
    }
    let (who, mut trained) = (&dive.member.name, held(dive).peekable());
    if trained.peek().is_some() && trained.all(|training| training.deco_min.is_none()) {
        sink.lacks(who.place.clone(), format!("the stops that diver {:?} is trained for", who.value));
    }
}
