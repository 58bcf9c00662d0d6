//! `stage-out-of-reach`: a cylinder that was left behind is breathed, taken up elsewhere, or never taken up again.

use crate::findings::{Level, Said, said};
use crate::forecast::dives::DiverDive;
use crate::plan::{LegKind, SwitchTo};
use crate::rules::dives::{self, said_at};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::source::Place;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("stage-out-of-reach", Family::Supply, Level::Error, include_str!("stage_out_of_reach.md"), look).safety();

/// What lies no farther up or down than this is at hand, metres (common practice, no source).
const AT_HAND_M: f64 = 3.0;

/// A cylinder that was left behind.
struct Left<'a> {
    name: &'a str,
    depth_m: f64,
    place: &'a Place,
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    // Legs are everyone's unless a diver has some of their own: one leg is told of once.
    let mut told: Vec<&Place> = Vec::new();
    for dive in dives::all(context) {
        for (place, level, said, related) in faults(&dive) {
            if told.contains(&place) {
                continue;
            }
            told.push(place);
            let mut finding = RULE.finding(place.clone(), said).with_about(dive.about());
            finding.level = level;
            if let Some(related) = related {
                finding = finding.with_related(related.clone(), "left behind here");
            }
            sink.find(said_at(context, dive.plan, finding, place));
        }
    }
}

/// What is wrong, in order: where, how grave, what, and where the cylinder was left behind.
fn faults<'a>(dive: &DiverDive<'a>) -> Vec<(&'a Place, Level, Said, Option<&'a Place>)> {
    let diver = &*dive.member.name.value;
    let mut wrong = Vec::new();
    let mut left: Vec<Left<'a>> = Vec::new();
    let mut breathed: Option<&SwitchTo> = None;
    let mut at_m = 0.0;
    let carries = |name: &str| dive.member.cylinders.iter().any(|carried| carried.name.value == name);
    for leg in dive.legs() {
        match &leg.kind {
            LegKind::Switch(to) => {
                let meant = dive.switched_to(&to.value);
                let lies = |name: &str| left.iter().find(|one| one.name == name);
                if let Some(first) = meant.first()
                    && meant.iter().all(|carried| lies(&carried.name.value).is_some())
                    && let Some(one) = lies(&first.name.value)
                {
                    let said = said!(
                        "{diver} switches to {cylinder:?}, which was left behind at {depth} m",
                        diver,
                        cylinder = one.name,
                        depth = say::number(one.depth_m)
                    );
                    wrong.push((&to.place, Level::Error, said, Some(one.place)));
                }
                breathed = Some(&to.value);
            }
            LegKind::Drop(name) if carries(&name.value) => {
                let cylinder = &*name.value;
                // Of several that a role means, nobody knows here which is breathed.
                let is_breathed = breathed.is_some_and(|to| {
                    let meant = dive.switched_to(to);
                    !meant.is_empty() && meant.iter().all(|carried| carried.name.value == cylinder)
                });
                if is_breathed {
                    let said = said!("{diver} leaves {cylinder:?} behind while breathing from it", diver, cylinder)
                        .with("what", "breathed");
                    wrong.push((&name.place, Level::Error, said, None));
                }
                left.retain(|one| one.name != cylinder);
                left.push(Left { name: cylinder, depth_m: at_m, place: &name.place });
            }
            LegKind::Take(name) if carries(&name.value) => {
                let cylinder = &*name.value;
                match left.iter().position(|one| one.name == cylinder).map(|number| left.remove(number)) {
                    None => {
                        let said = said!("{diver} takes up {cylinder:?}, which was never left behind", diver, cylinder)
                            .with("what", "never-left");
                        wrong.push((&name.place, Level::Error, said, None));
                    }
                    Some(one) if (one.depth_m - at_m).abs() > AT_HAND_M => {
                        let said = said!(
                            "{diver} takes up {cylinder:?} at {depth} m, which was left behind at {left} m",
                            diver,
                            cylinder,
                            depth = say::number(at_m),
                            left = say::number(one.depth_m)
                        );
                        wrong.push((&name.place, Level::Error, said, Some(one.place)));
                    }
                    Some(_) => {}
                }
            }
            _ => {}
        }
        at_m = leg.ends_at_m().unwrap_or(at_m);
    }
    // Of one that is breathed all the same that is said.
    let told: Vec<&Place> = wrong.iter().filter_map(|(.., left)| *left).collect();
    for one in left.iter().filter(|one| !told.contains(&one.place)) {
        let said = said!("{diver} leaves {cylinder:?} behind and never takes it up again", diver, cylinder = one.name)
            .with("what", "for-good");
        wrong.push((one.place, Level::Note, said, None));
    }
    wrong
}
