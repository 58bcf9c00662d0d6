//! `endurance-short`: what the diver lives on does not last the dive and the way home.

use super::endurance::{By, Ends, ends};
use super::first_end::{batteries, emptied_before, ends_in, first_end};
use super::way_out::way_out_in_words;
use crate::findings::{Finding, Fix, Level, Said, said};
use crate::forecast::dives::{DiverDive, Gas};
use crate::forecast::{Simulated, Unknown, gas_lpm};
use crate::plan::{Battery, Carried, TeamMember};
use crate::rules::dives;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, mix, runs, say};
use crate::run::{Cylinder, EventKind, Outcome, Track, Why};
use crate::words::LimitName;

/// The rule. It speaks of gas and batteries; absorbent and the oxygen clock have rules of their own, and are named here
/// where they end even sooner.
pub(crate) const RULE: Rule =
    Rule::new("endurance-short", Family::Supply, Level::Error, include_str!("endurance_short.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        let simulated = match context.simulate(&dive) {
            Ok(simulated) => simulated,
            Err(missing) => {
                sink.lacks_all(missing);
                continue;
            }
        };
        if let Err(Unknown::Lacks(missing)) = gas_lpm(&dive) {
            sink.lacks_all([missing]);
            continue;
        }
        if emptied_before(&simulated).is_some() {
            continue;
        }
        let question = Question { context, simulated: &simulated };
        let short = first_end(&simulated);
        let battery = battery(&simulated, sink);
        match (short, battery) {
            (Some((cylinder, ends)), battery) if battery.as_ref().is_none_or(|(_, lasts)| ends.t_min <= *lasts) => {
                gas_ends(&question, cylinder, &ends, sink);
            }
            (_, Some((battery, lasts))) => battery_ends(&question, battery, lasts, sink),
            (_, None) => runs::lacks_gradient(&simulated, sink),
        }
    }
}

/// Everything that decides how long the gas lasts, to be asked of the dive as planned or of one changed.
struct Question<'q, 'a> {
    context: &'q Context<'a>,
    simulated: &'q Simulated<'a>,
}

impl Question<'_, '_> {
    fn dive(&self) -> &DiverDive<'_> {
        &self.simulated.dive
    }

    /// How long the dive is in words, of so many minutes if it ends at all.
    fn whole(&self, minutes: f64) -> Said {
        match self.simulated.ran.high_feed().surfaced() {
            true => said!("of {dive_minutes} min", dive_minutes = say::number(say::up(minutes, 1.0))),
            false => said!("min of a dive that never ends"),
        }
    }
}

fn gas_ends(question: &Question<'_, '_>, cylinder: usize, found: &Ends, sink: &mut Sink<'_>) {
    let (dive, ran) = (question.dive(), &question.simulated.ran);
    let (Some(carried), Some(held)) = (question.simulated.kit.get(cylinder), ran.dive.cylinders.get(cylinder)) else {
        return;
    };
    let Ok(gas) = dive.gas(carried) else { return };
    let left = held.gauge_bar(found.holds_l).unwrap_or(0.0);
    let reserve = dive.plan.limits.held(LimitName::Reserve);
    let by_way_out = found.by == By::WayOut;
    let why = if by_way_out {
        let (bar, depth_m) = (say::pressure_needed(left), say::number(say::up(found.depth_m, 1.0)));
        said!("from {bar} bar on the bailout ascent from {depth_m} m takes all that is left", bar, depth_m)
    } else {
        said!("then it is at its {reserve} bar reserve", reserve = say::number(reserve.value))
    };
    let message = said!(
        "{role} {cylinder:?} lasts {lasts} {whole}: {why}{sooner}",
        role = carried.role.value,
        cylinder = gas.cylinder.name.value,
        lasts = say::minutes_had(found.t_min),
        whole = question.whole(ran.high_feed().end.t_min),
        sooner = sooner(ran.high_feed(), found.t_min),
        why
    );
    let mut finding = RULE.finding(carried.name.place.clone(), message).with_about(dive.about());
    let (known, what) = gas.known_from();
    finding = runs_short(question, found.leg, finding).with_related(known.clone(), what);
    if let Some(place) = reserve.place.filter(|_| !by_way_out) {
        finding = finding.with_related(place, "the reserve");
    }
    let fresh = Cylinder::new(held.filled).map_or(held.full_l, |fresh| fresh.full_l);
    finding = finding.with_step(
        "content, real gas",
        format!("{} L at {} bar", say::number(held.filled.size_l), say::number(held.filled.gauge_bar)),
        format!("{fresh:.1} free L"),
    );
    if fresh - held.full_l > 0.05 {
        finding = finding.with_step(
            "left by the dives before",
            format!("{fresh:.1} − {:.1}", fresh - held.full_l),
            format!("{:.1} free L", held.full_l),
        );
    }
    finding = finding.with_step(
        "used by then, pre-breathe and make-up counted",
        format!("{:.2} min into the dive", found.t_min),
        format!("{:.1} free L", held.full_l - found.holds_l),
    );
    finding = match &found.way_out {
        Some(escape) if by_way_out => finding.with_step(
            "kept = what the bailout ascent takes of it + unusable",
            way_out_in_words(question.simulated, escape),
            format!("{:.1} + {:.1} free L", escape.draws_l.get(cylinder).unwrap_or(&0.0), held.unusable_l),
        ),
        _ => finding.with_step(
            "kept = reserve",
            format!("{} bar in the water", say::number(reserve.value)),
            format!("{:.1} free L", held.reserve_l),
        ),
    };
    finding = finding.with_step(
        "pressure left, in the water",
        format!("{:.1} free L", found.holds_l),
        format!("{left:.2} bar"),
    );
    finding.fixes.extend(larger_cylinder(question, carried, cylinder, held.full_l));
    finding.fixes.extend(shorter_stay(question, cylinder));
    sink.find(finding);
}

/// What else ends before a moment, in words.
fn sooner(track: &Track, t_min: f64) -> Said {
    let ends = |kind: EventKind, what: &str| {
        let event = track.first(kind).filter(|event| event.t_min < t_min)?;
        Some(said!("; {what} ends sooner still, at {ends} min", ends = say::minutes_had(event.t_min), what))
    };
    let absorbent = ends(EventKind::AbsorbentSpent, "the absorbent");
    let clock = ends(EventKind::ClockSpent, "the oxygen clock");
    let mut said = Said::default();
    for sooner in [absorbent, clock].into_iter().flatten() {
        said += sooner;
    }
    said
}

/// Points at the leg on which something runs short.
fn runs_short(question: &Question<'_, '_>, leg: usize, finding: Finding) -> Finding {
    let legs = &question.simulated.ran.high_feed().legs;
    let asked = legs.get(leg).and_then(|(_, leg)| match leg.why {
        Why::Asked(number) => question.dive().legs().get(number),
        _ => None,
    });
    match asked {
        Some(leg) => finding.with_related(leg.place.clone(), "here it runs short"),
        None => finding,
    }
}

/// Suggests the longest stay with which the gas lasts.
fn shorter_stay(question: &Question<'_, '_>, cylinder: usize) -> Option<Fix> {
    let planned = question.simulated.ran.high_feed_dive();
    fix::shorter_stay(question.context, question.simulated, &planned, |dive, track, escapes| {
        let kept_l = dive.cylinders.get(cylinder).map_or(0.0, |held| held.reserve_l);
        ends(dive, track, cylinder, kept_l, escapes).is_none()
    })
}

/// Suggests a cylinder of the club's kit that holds more and with which the gas lasts.
fn larger_cylinder(question: &Question<'_, '_>, carried: &Carried, number: usize, content_l: f64) -> Option<Fix> {
    let dive = question.dive();
    fix::another_cylinder(question.context, dive, carried, |other: &Gas<'_>| {
        if other.content_free_l(dive).is_none_or(|content| content <= content_l) || !mix::suits(dive, other) {
            return false;
        }
        let member: TeamMember = with_cylinder(dive.member, carried, other.carried);
        let changed = DiverDive { member: &member, ..*dive };
        let simulated = question.context.simulate_instead(dive, &changed);
        simulated.is_ok_and(|simulated| {
            simulated.ran.never_surfaces().is_none()
                && ends_in(&simulated, number).is_none()
                && simulated.ran.outcomes().iter().all(Outcome::is_covered)
        })
    })
}

/// The diver's part with one cylinder in another's place.
fn with_cylinder(member: &TeamMember, old: &Carried, new: &Carried) -> TeamMember {
    let mut member = member.clone();
    for carried in member.cylinders.iter_mut().filter(|carried| **carried == *old) {
        *carried = new.clone();
    }
    member
}

/// The battery of the diver's unit that ends first before the dive does, with the minutes it lasts.
fn battery<'a>(simulated: &Simulated<'a>, sink: &mut Sink<'_>) -> Option<(&'a Battery, f64)> {
    let dive = &simulated.dive;
    let unit = dive.unit()?;
    let whole = simulated.ran.high_feed().minutes();
    // A dive that never ends outlasts any battery.
    let never = simulated.ran.never_surfaces().is_some();
    let mut first: Option<(&Battery, f64)> = None;
    for (battery, lasts) in batteries(simulated) {
        let Some(lasts) = lasts else {
            let whose = said!("battery {battery:?} of unit {unit:?}", battery = *battery.name, unit = unit.name.value);
            let named = dive.member.unit_name.as_ref().map_or(&unit.name.place, |name| &name.place);
            sink.lacks(named.clone(), format!("a `charge` on or before the day of {whose}"));
            continue;
        };
        if (lasts < whole || never) && first.is_none_or(|(_, sooner)| lasts < sooner) {
            first = Some((battery, lasts));
        }
    }
    first
}

fn battery_ends(question: &Question<'_, '_>, battery: &Battery, lasts_min: f64, sink: &mut Sink<'_>) {
    let dive = question.dive();
    let Some(unit) = dive.unit() else { return };
    let whole = question.whole(question.simulated.ran.high_feed().minutes());
    let message = said!(
        "battery {battery:?} of unit {unit:?} lasts {lasts} {whole}, pre-breathe counted",
        battery = *battery.name,
        unit = unit.name.value,
        lasts = say::minutes_had(lasts_min),
        whole
    );
    let named = dive.member.unit_name.as_ref().map_or(&unit.name.place, |name| &name.place);
    let finding = RULE.finding(battery.place.clone(), message).with_about(dive.about());
    let mut finding = dives::caused(question.context, finding, &battery.place, named, "the battery");
    let planned = question.simulated.ran.high_feed_dive();
    finding.fixes.extend(fix::shorter_stay(question.context, question.simulated, &planned, |_, track, _| {
        track.minutes() <= lasts_min
    }));
    sink.find(finding);
}
