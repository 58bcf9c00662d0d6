//! `bailout-short`: the way out on open circuit lacks gas.

use super::endurance::By;
use super::first_end::{emptied_before, first_end};
use super::way_out::{way_out_in_words, worst};
use std::collections::BTreeSet;

use crate::findings::{Finding, Fix, Level, Wording, said};
use crate::forecast::dives::{DiverDive, Gas};
use crate::forecast::{Simulated, Unknown, gas_lpm};
use crate::plan::{Carried, TeamMember};
use crate::rules::contingency::covered::holds;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::run::{Escape, Outcome, Profile};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("bailout-short", Family::Supply, Level::Error, include_str!("bailout_short.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_schedule(context, sink, Whose::All, one);
}

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let dive = &simulated.dive;
    if let Err(Unknown::Lacks(missing)) = gas_lpm(dive) {
        sink.lacks_all([missing]);
        return;
    }
    let Some(worst) = worst(simulated.ran.escapes()) else { return };
    if emptied_before(simulated).is_some() {
        return;
    }
    // A cylinder of which something is lacking might be the one that would do.
    if !simulated.lacking.is_empty() {
        sink.lacks_all(simulated.lacking.iter().cloned());
        return;
    }
    // Where the lack is of the gas that the diver lives on, that it ends is what is said.
    if first_end(simulated).is_some_and(|(_, ends)| ends.by == By::WayOut) {
        return;
    }
    let finding = if worst.lacks_l.is_finite() { lacking(context, simulated, worst) } else { no_way(simulated, worst) };
    let leg = simulated.ran.high_feed().asked_at(worst.t_min).and_then(|leg| dive.legs().get(leg));
    sink.find(match leg {
        Some(leg) => finding.with_related(leg.place.clone(), "here it is worst"),
        None => finding,
    });
}

/// There is nothing to get out on, or no end to the stops.
fn no_way(simulated: &Simulated<'_>, escape: &Escape) -> Finding {
    let dive = &simulated.dive;
    let why = if simulated.ran.dive.home.way_out.is_empty() {
        Wording("no bailout cylinder, and nothing at the mouthpiece")
    } else {
        Wording("the stops never end")
    };
    let message = said!(
        "{diver} has no bailout from {depth} m, {moment}: {why}",
        diver = *dive.member.name,
        depth = say::number(say::up(escape.depth_m, 1.0)),
        moment = say::into_the_dive(escape.t_min),
        why
    );
    RULE.finding(dive.member.name.place.clone(), message).with_about(dive.about())
}

fn lacking(context: &Context<'_>, simulated: &Simulated<'_>, escape: &Escape) -> Finding {
    let (dive, planned) = (&simulated.dive, &simulated.ran.dive);
    // What would hold more: the cylinder of the way out that is drawn from most.
    let most = planned.home.way_out.iter().copied().max_by(|a, b| {
        let drawn = |number: &usize| escape.draws_l.get(*number).copied().unwrap_or(0.0);
        drawn(a).total_cmp(&drawn(b))
    });
    let carried: Option<(usize, &Carried)> = most.and_then(|number| Some((number, *simulated.kit.get(number)?)));
    let needs: f64 = escape.draws_l.iter().sum();
    let mut message = said!(
        "from {depth} m, {moment}, the bailout of {diver} lacks {lacks} L: the ascent takes {needs} L in {minutes} min",
        depth = say::number(say::up(escape.depth_m, 1.0)),
        moment = say::into_the_dive(escape.t_min),
        lacks = say::number(say::up(escape.lacks_l, 10.0)),
        needs = say::number(say::up(needs, 10.0)),
        diver = *dive.member.name,
        minutes = say::number(say::up(escape.minutes, 1.0))
    );
    if escape.back_min > 0.0 {
        message +=
            said!(", {back} of them back from under the overhead", back = say::number(say::up(escape.back_min, 1.0)));
    }
    if let Some((number, carried)) = carried
        && let Some(would_do) = pressure_that_would_do(planned, number, escape, working_bar(carried))
    {
        message += said!(
            "; {would_do} bar in {cylinder:?} would do",
            would_do = say::pressure_needed(would_do),
            cylinder = carried.name.value
        );
    }
    let place = carried.map_or(&dive.member.name.place, |(_, carried)| &carried.name.place);
    let mut finding = RULE.finding(place.clone(), message).with_about(dive.about());
    // What is carried as bailout is often what the mouthpiece gives, too.
    for number in planned.home.way_out.iter().collect::<BTreeSet<_>>() {
        let Some(gas) = simulated.kit.get(*number).and_then(|carried| dive.gas(carried).ok()) else { continue };
        let (known, what) = gas.known_from();
        finding = finding.with_related(known.clone(), what);
    }
    let had = needs - escape.lacks_l;
    finding = finding
        .with_step("bailout ascent", way_out_in_words(simulated, escape), format!("{needs:.1} free L"))
        .with_step(
            "lacking = bailout ascent − what can be had",
            format!("{needs:.1} − {had:.1}"),
            format!("{:.1} free L", escape.lacks_l),
        );
    if let Some((number, carried)) = carried {
        finding.fixes.extend(larger_cylinder(context, simulated, number, carried));
    }
    finding.fixes.extend(shallower(context, simulated));
    finding
}

/// The gauge reading in the water at which a cylinder would hold what the way out draws and lacks; `None` beyond what it
/// is made for, as far as that is known.
fn pressure_that_would_do(dive: &Profile, number: usize, escape: &Escape, working_bar: Option<f64>) -> Option<f64> {
    let cylinder = dive.cylinders.get(number)?;
    let drawn = escape.draws_l.get(number)?;
    // What it lacks it may draw already, if it is the last one.
    let beyond = (cylinder.unusable_l + drawn - cylinder.full_l).max(0.0);
    let bar = cylinder.gauge_bar(cylinder.unusable_l + drawn + (escape.lacks_l - beyond).max(0.0))?;
    (working_bar.is_none_or(|working| bar <= working)).then_some(bar)
}

/// What a cylinder is made for, bar.
fn working_bar(carried: &Carried) -> Option<f64> {
    carried.cylinder.as_deref()?.thing.working_gauge_bar.as_ref().map(|working| working.value)
}

/// Suggests a cylinder of the club's kit with which the way out fits.
fn larger_cylinder(context: &Context<'_>, simulated: &Simulated<'_>, number: usize, carried: &Carried) -> Option<Fix> {
    let dive = &simulated.dive;
    let content = simulated.ran.dive.cylinders.get(number)?.full_l;
    fix::another_cylinder(context, dive, carried, |other: &Gas<'_>| {
        if other.content_free_l(dive).is_none_or(|other| other <= content) {
            return false;
        }
        let mut member: TeamMember = dive.member.clone();
        for old in member.cylinders.iter_mut().filter(|old| **old == *carried) {
            *old = other.carried.clone();
        }
        let changed = DiverDive { member: &member, ..*dive };
        context.simulate_instead(dive, &changed).is_ok_and(|other| {
            other.ran.never_surfaces().is_none()
                && worst(other.ran.escapes()).is_none()
                && other.ran.outcomes().iter().all(Outcome::is_covered)
        })
    })
}

/// Suggests the greatest depth in whole metres from which the way out fits.
fn shallower(context: &Context<'_>, simulated: &Simulated<'_>) -> Option<Fix> {
    let dive = &simulated.dive;
    if !context.searches_fixes() {
        return None;
    }
    let planned = simulated.ran.high_feed_dive();
    let sink = planned.home.out?;
    let fits = |depth_m: f64| {
        let shallower = planned.alike(|dive| {
            for leg in &mut dive.legs {
                leg.to_m = leg.to_m.min(depth_m);
            }
        });
        let track = shallower.run();
        let escapes = shallower.escapes(&track, &sink);
        worst(&escapes).is_none() && holds(&shallower, &track, &escapes)
    };
    let (mut fitting, mut over) = (0.0, say::up(dive.deepest()?.value, 1.0));
    while over - fitting > 1.0 {
        let middle = ((fitting + over) / 2.0_f64).floor();
        if fits(middle) { fitting = middle } else { over = middle }
    }
    if fitting < 3.0 { None } else { fix::no_deeper(context, dive, fitting) }
}
