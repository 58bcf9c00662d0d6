//! `way-in-unanswered`: a way in under something overhead that no way out answers, or the other way round.

use crate::findings::{Level, Said, said};
use crate::forecast::dives::DiverDive;
use crate::plan::{Leg, Way};
use crate::rules::dives::{self, said_at};
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::Placed;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("way-in-unanswered", Family::Supply, Level::Error, include_str!("way_in_unanswered.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
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
