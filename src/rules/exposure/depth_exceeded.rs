//! `depth-exceeded`: a dive goes deeper than the unit, the site or the house allows.

use crate::findings::{Level, said};
use crate::forecast::dives::DiverDive;
use crate::physics::tolerance;
use crate::rules::dives;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::source::{Place, Placed};
use crate::words::LimitName;

/// The rule. A diver's own training is held by training-short.
pub(crate) const RULE: Rule =
    Rule::new("depth-exceeded", Family::Exposure, Level::Error, include_str!("depth_exceeded.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

/// A depth that may not be passed, whose it is, and where it is said.
type Bound = (f64, String, Place);

/// The bounds that hold for a diver.
fn bounds(dive: &DiverDive<'_>, sink: &mut Sink<'_>) -> Vec<Bound> {
    let mut bounds = Vec::new();
    if let Some(unit) = dive.unit() {
        match &unit.thing.reach_depth_m {
            Some(reach) => bounds.push((reach.value, format!("unit {:?}", unit.name.value), reach.place.clone())),
            None => sink.lacks(
                dive.member.unit_name.as_ref().map_or(unit.name.place.clone(), |name| name.place.clone()),
                format!("`reach depth=` of unit {:?}", unit.name.value),
            ),
        }
    }
    if let Some(depth) = dive.plan.site.as_ref().and_then(|site| site.depth_m.as_ref()) {
        bounds.push((depth.value, "the site".to_owned(), depth.place.clone()));
    }
    if let Some(depth) = dive.plan.limits.set(LimitName::Depth) {
        bounds.push((depth.value, "the limits".to_owned(), depth.place));
    }
    bounds
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    // A depth is one finding however many divers share it; the bounds of all of them take part.
    let mut passed: Vec<(DiverDive<'_>, &Placed<f64>, Vec<Bound>)> = Vec::new();
    if let Some(site) = context.plan.and_then(|plan| plan.site.as_ref()).filter(|site| site.depth_m.is_none()) {
        sink.lacks(site.header.clone(), "the `depth` of the site");
    }
    for dive in dives::all(context) {
        let bounds = bounds(&dive, sink);
        for depth in dive.legs().iter().filter_map(|leg| leg.depth_m()) {
            let over = bounds.iter().filter(|(bound, ..)| depth.value > bound + tolerance::DEPTH_M).cloned();
            let known = match passed.iter_mut().find(|(_, other, _)| other.place == depth.place) {
                Some((_, _, known)) => known,
                None => {
                    passed.push((dive, depth, Vec::new()));
                    let Some((_, _, known)) = passed.last_mut() else { continue };
                    known
                }
            };
            for bound in over {
                if !known.contains(&bound) {
                    known.push(bound);
                }
            }
        }
    }
    for (dive, depth, mut bounds) in passed {
        bounds.sort_by(|a, b| a.0.total_cmp(&b.0));
        one(context, &dive, depth, &bounds, sink);
    }
}

/// One depth, and the bounds that it passes, the least first.
fn one(context: &Context<'_>, dive: &DiverDive<'_>, depth: &Placed<f64>, bounds: &[Bound], sink: &mut Sink<'_>) {
    let Some((least, whose, place)) = bounds.first() else { return };
    let message = said!(
        "{depth} m is {deeper} m deeper than the {most} m of {whose}",
        depth = say::number(depth.value),
        deeper = say::number(say::up(depth.value - least, 0.1)),
        most = say::number(*least),
        whose
    );
    let mut finding = RULE.finding(depth.place.clone(), message).with_related(place.clone(), "the limit");
    for (bound, whose, place) in &bounds[1..] {
        finding = finding.with_related(place.clone(), format!("the {} m of {whose}", say::number(*bound)));
    }
    finding = finding.with_about(dive.about());
    finding.about.diver = None;
    finding.fixes.extend(fix::no_deeper(context, dive, *least));
    sink.find(finding);
}
