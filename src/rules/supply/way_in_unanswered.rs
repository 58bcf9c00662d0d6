//! `way-in-unanswered`: a way in under something overhead that no way out answers, or the other way round.

use crate::findings::{Level, Said, said};
use crate::forecast::Simulated;
use crate::forecast::dives::DiverDive;
use crate::physics::tolerance;
use crate::plan::{Leg, Way};
use crate::rules::dives::{self, said_at};
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::run::{self, Why};
use crate::source::{Place, Placed};
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("way-in-unanswered", Family::Supply, Level::Error, include_str!("way_in_unanswered.md"), look).safety();

/// How many times as fast as the limits say a way out may be swum (common practice, no source).
const QUICKEST: f64 = 2.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    // Without a way out a dive lacks nothing that this would look at.
    if dives::all(context).iter().any(|dive| dive.legs().iter().any(Leg::leads_out)) {
        quick_ways_out(context, sink);
    }
    unanswered_at_all(context, sink);
}

fn quick_ways_out(context: &Context<'_>, sink: &mut Sink<'_>) {
    let mut told: Vec<Place> = Vec::new();
    each_run(context, sink, Whose::All, |context, simulated, sink| quick(context, simulated, sink, &mut told));
}

/// Ways out that are swum far faster than the limits say they can be.
fn quick(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>, told: &mut Vec<Place>) {
    let dive = &simulated.dive;
    let pace = dive.plan.limits.value(LimitName::ExitPace);
    let legs = &simulated.ran.dive.legs;
    let mut number = 0;
    while let Some(leg) = legs.get(number) {
        let (Some(run::Way::Out(undoes)), Why::Asked(first)) = (leg.way, leg.why) else {
            number += 1;
            continue;
        };
        let rest = legs.get(number..).unwrap_or_default();
        let until = rest.iter().position(|leg| matches!(leg.way, Some(run::Way::In(_)))).unwrap_or(rest.len());
        number += until.max(1);
        let outwards = rest.iter().take(until).filter(|leg| matches!(leg.way, Some(run::Way::Out(_))));
        let lasts_min: f64 = outwards.map(|leg| leg.lasts_min).sum();
        let Some(way) = dive.legs().get(first).and_then(|leg| leg.way.as_ref()) else { continue };
        if undoes <= QUICKEST * pace + tolerance::FRACTION || told.contains(&way.place) {
            continue;
        }
        told.push(way.place.clone());
        let message = said!(
            "the way out takes {out} min: as the way in went, and by `exit pace=`, it is {needs} min back",
            out = say::number(say::down(lasts_min, 0.1)),
            needs = say::number(say::up(undoes * lasts_min / pace, 1.0))
        )
        .with("what", "quick");
        let mut finding = RULE.finding(way.place.clone(), message).with_about(dive.about());
        finding.level = Level::Warning;
        finding.about.diver = None;
        let finding = finding.with_step(
            "minutes back = minutes in / pace",
            format!("{:.1} / {pace}", undoes * lasts_min),
            format!("{:.1} min", undoes * lasts_min / pace),
        );
        sink.find(said_at(context, dive.plan, finding, &way.place));
    }
}

fn unanswered_at_all(context: &Context<'_>, sink: &mut Sink<'_>) {
    // Legs are everyone's unless a diver has some of their own: one leg is told of once.
    let mut told: Vec<&Placed<Way>> = Vec::new();
    for dive in dives::all(context) {
        let (mut going_in, mut inside): (Option<&Placed<Way>>, bool) = (None, false);
        let mut wrong: Vec<(&Placed<Way>, Said)> = Vec::new();
        for leg in dive.legs() {
            match leg.way.as_ref().map(|way| (way.value, way)) {
                Some((Way::In, way)) => (going_in, inside) = (Some(way), true),
                Some((Way::Out, way)) if !inside => {
                    wrong.push((way, said!("this leads out, and no leg before it led in").with("what", "out")));
                }
                Some((Way::Out, _)) => going_in = None,
                None => {}
            }
            if let Some(way) = going_in.filter(|_| surfaces(leg)) {
                wrong.push((way, unanswered(leg)));
                going_in = None;
            }
        }
        if let Some(way) = going_in {
            wrong.push((way, said!("the way in is never answered by a way out").with("what", "end")));
        }
        for (way, said) in wrong {
            if !told.iter().any(|known| known.place == way.place) {
                told.push(way);
                find(context, &dive, way, said, sink);
            }
        }
    }
}

fn surfaces(leg: &Leg) -> bool {
    leg.ends_at_m() == Some(0.0)
}

fn unanswered(leg: &Leg) -> Said {
    said!("the way in is not answered by a way out before `{word}` leads to the surface", word = leg.kind.word())
}

fn find(context: &Context<'_>, dive: &DiverDive<'_>, way: &Placed<Way>, said: Said, sink: &mut Sink<'_>) {
    let mut finding = RULE.finding(way.place.clone(), said).with_about(dive.about());
    finding.about.diver = None;
    sink.find(said_at(context, dive.plan, finding, &way.place));
}
