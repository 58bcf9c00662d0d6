//! What comes of every trouble that a dive can meet: what several rules say of it.

use crate::findings::{Finding, Level, Said, Wording, said};
use crate::forecast::{Simulated, Unknown, gas_lpm};
use crate::physics::tolerance;
use crate::rules::mix::least_oxygen;
use crate::rules::supply::{first_end, way_out};
use crate::rules::{Rule, Sink, say};
use crate::run::{self, Buddy, Escape, Margin, Outcome, Profile, Scenario, Track, Trouble};

/// A trouble of a dive in words.
pub(crate) fn trouble_in_words(simulated: &Simulated<'_>, trouble: Trouble) -> Said {
    match trouble.lost().and_then(|cylinder| simulated.kit.get(cylinder)) {
        Some(carried) => {
            said!("with {role} {lost:?} lost", role = carried.role.value, lost = carried.name.value)
        }
        None => said!("{trouble}", trouble = Wording(trouble.words())),
    }
}

/// How grave it is that a trouble is not covered: a single failure is an error; the plan's own overrun, a diver out of breath
/// and cells that are wrong all dive a warning; what a buddy would breathe an error where it is asked, else worth a note.
fn gravity(dive: &Profile, trouble: Trouble) -> Level {
    match trouble {
        Trouble::BuddyOnGas if dive.home.trials.buddy != Buddy::Asked => Level::Note,
        Trouble::Breathless | Trouble::CellsHigh | Trouble::CellsLow => Level::Warning,
        trouble if trouble.is_overrun() => Level::Warning,
        _ => Level::Error,
    }
}

/// Looks at what comes of some troubles, for a rule.
pub(in crate::rules) fn each(
    simulated: &Simulated<'_>,
    sink: &mut Sink<'_>,
    rule: &Rule,
    troubles: impl Fn(Trouble) -> bool,
) {
    let dive = &simulated.dive;
    if let Err(Unknown::Lacks(missing)) = gas_lpm(dive) {
        sink.lacks_all([missing]);
        return;
    }
    if first_end::emptied_before(simulated).is_some() {
        return;
    }
    let uncovered = simulated.ran.outcomes().iter().filter(|outcome| !outcome.is_covered());
    let uncovered: Vec<&Outcome> = uncovered.filter(|outcome| troubles(outcome.trouble)).collect();
    // A cylinder of which something is lacking might be the one that would do.
    if !uncovered.is_empty() && !simulated.lacking.is_empty() {
        sink.lacks_all(simulated.lacking.iter().cloned());
        return;
    }
    for outcome in uncovered.into_iter().filter(|outcome| !is_said_of_the_plan(simulated, outcome)) {
        let message = said!(
            "{trouble}, {moment}: {ends}",
            trouble = trouble_in_words(simulated, outcome.trouble),
            moment = say::moment(outcome.t_min, outcome.depth_m),
            ends = ends(&dive.member.name.value, &outcome.margin)
        )
        .with("trouble", outcome.trouble.name());
        let mut finding = rule.finding(dive.member.name.place.clone(), message).with_about(dive.about());
        finding.level = gravity(&simulated.ran.dive, outcome.trouble);
        let leg = simulated.ran.low_feed().asked_at(outcome.t_min).and_then(|leg| dive.legs().get(leg));
        if let Some(leg) = leg {
            finding = finding.with_related(leg.place.clone(), "here it is worst");
        }
        sink.find(step(finding, &outcome.margin));
    }
}

/// Whether the plan as it is written has that defect already.
pub(in crate::rules) fn is_said_of_the_plan(simulated: &Simulated<'_>, outcome: &Outcome) -> bool {
    match outcome.margin {
        Margin::Gas(_) => {
            way_out::worst(simulated.ran.escapes()).is_some() || first_end::first_end(simulated).is_some()
        }
        Margin::Oxygen { .. } => {
            let ends = first_end::first_end(simulated);
            least_oxygen::least_po2(simulated).is_some()
                || least_oxygen::faints(simulated)
                || ends.is_some_and(|(_, ends)| ends.t_min <= outcome.t_min)
        }
        Margin::TooMuchOxygen(bar) => {
            let ran = &simulated.ran;
            let Some(planned) = ran.low_feed().extremes(0.0, &ran.dive.limits) else { return false };
            let supply = ran.dive.circuit.feeds().and_then(|feeds| ran.dive.cylinders.get(feeds));
            let too_rich = |mix: f64, limit: f64| mix * planned.greatest_bar.0 > limit + tolerance::PO2_BAR;
            // A set-point that is too high already is not held against the cells.
            let asked = simulated.dive.set_point_at_depth().and_then(|point| point.value.bar());
            let asks_too_much = asked.is_some_and(|asked| asked > ran.dive.limits.greatest_bar + tolerance::PO2_BAR);
            planned.greatest_po2_bar.0 >= bar - tolerance::PO2_BAR
                || outcome.trouble == Trouble::CellsLow && asks_too_much
                || supply.is_some_and(|supply| too_rich(supply.mix.o2, supply.filled.greatest_po2_bar))
        }
        Margin::FeedEnds(_) => first_end::first_end(simulated).is_some(),
        Margin::NeverSurfaces => simulated.ran.never_surfaces().is_some(),
    }
}

/// Whether a dive that a fix would make holds whatever goes wrong.
pub(in crate::rules) fn holds(dive: &Profile, track: &Track, escapes: &[Escape]) -> bool {
    let grave = |outcome: &Outcome| !outcome.is_covered() && gravity(dive, outcome.trouble) == Level::Error;
    track.never_surfaces().is_none() && !run::outcomes(dive, track, escapes).iter().any(grave)
}

/// How it ends, in words.
pub(in crate::rules) fn ends(diver: &str, margin: &Margin) -> Said {
    match *margin {
        Margin::Gas(litres) if litres.is_infinite() => said!("{diver} has no bailout", diver),
        Margin::Gas(litres) => {
            said!("the bailout of {diver} lacks {lacks} L", lacks = say::number(say::up(-litres, 10.0)), diver)
        }
        Margin::Oxygen { least_bar, faint_bar } => said!(
            "{diver} breathes {po2} bar of oxygen before leaving the loop; under {faint} bar a diver loses consciousness",
            po2 = say::number(say::down(least_bar.max(0.0), 0.01)),
            faint = say::number(faint_bar),
            diver
        ),
        Margin::TooMuchOxygen(bar) => {
            said!(
                "{diver} breathes {po2} bar of oxygen, which no gas is meant for",
                po2 = say::number(say::up(bar, 0.01)),
                diver
            )
        }
        Margin::FeedEnds(t_min) => {
            said!("the gas of {diver} ends after {lasts} min", lasts = say::minutes_had(t_min), diver)
        }
        Margin::NeverSurfaces => said!("{diver} never surfaces: the way home does not end", diver),
    }
}

pub(in crate::rules) fn step(finding: Finding, margin: &Margin) -> Finding {
    match *margin {
        Margin::Gas(litres) if litres.is_infinite() => finding,
        Margin::NeverSurfaces => finding,
        Margin::Gas(litres) => {
            finding.with_step("gas left − gas taken", "on the bailout ascent".to_owned(), format!("{litres:.1} free L"))
        }
        Margin::Oxygen { least_bar, faint_bar } => finding.with_step(
            "least PO2 − PO2 at which a diver loses consciousness",
            format!("{least_bar:.4} − {faint_bar:.2}"),
            format!("{:.4} bar", least_bar - faint_bar),
        ),
        Margin::TooMuchOxygen(bar) => {
            finding.with_step("greatest PO2", "until leaving the loop".to_owned(), format!("{bar:.4} bar"))
        }
        Margin::FeedEnds(t_min) => finding.with_step("cylinder empty", "run time".to_owned(), say::run_time(t_min)),
    }
}
