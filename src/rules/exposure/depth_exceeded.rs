//! `depth-exceeded`: a dive goes deeper than the unit, the site or the house allows.

use crate::findings::Level;
use crate::rules::dives::{self, OneDive};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, limits, mend, say};
use crate::source::{Place, Placed};

/// The rule. A diver's own training is held by training-short.
pub const RULE: Rule = Rule {
    slug: "depth-exceeded",
    family: Family::Exposure,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("depth_exceeded.md"),
    look,
};

/// A depth that may not be passed, whose it is, and where it is said.
fn bounds(look: &Look<'_>, dive: &OneDive<'_>, out: &mut Out<'_>) -> Vec<(f64, String, Place)> {
    let mut bounds = Vec::new();
    if let Some(unit) = dive.unit() {
        match &unit.thing.reach_depth_m {
            Some(reach) => bounds.push((reach.value, format!("unit {:?}", unit.name.value), reach.place.clone())),
            None => out.lacks(
                dive.member.unit_name.as_ref().map_or(unit.name.place.clone(), |name| name.place.clone()),
                format!("`reach depth=` of unit {:?}", unit.name.value),
            ),
        }
    }
    if let Some(depth) = dive.plan.site.as_ref().and_then(|site| site.depth_m.as_ref()) {
        bounds.push((depth.value, "the site".to_owned(), depth.place.clone()));
    }
    if let Some(limits::Limit { value, place: Some(place) }) = limits::set(look, dive.plan, |limits| &limits.depth_m) {
        bounds.push((value, "the limits".to_owned(), place));
    }
    bounds
}

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for dive in dives::all(look) {
        let bounds = bounds(look, &dive, out);
        let Some((least, _, _)) = bounds.iter().min_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        let least = *least;
        // A depth that several legs say is one finding; so is one that all divers share.
        for depth in
            dive.legs().iter().filter_map(|leg| leg.depth_m.as_ref()).filter(|depth| depth.value > least + 1e-9)
        {
            for (bound, whose, place) in bounds.iter().filter(|(bound, ..)| depth.value > bound + 1e-9) {
                one(look, &dive, depth, (*bound, whose, place), least, out);
            }
        }
    }
}

fn one(
    look: &Look<'_>,
    dive: &OneDive<'_>,
    depth: &Placed<f64>,
    bound: (f64, &str, &Place),
    least: f64,
    out: &mut Out<'_>,
) {
    let (limit, whose, place) = bound;
    let message = format!(
        "{} m is {} m deeper than the {} m of {whose}",
        say::number(depth.value),
        say::number(say::up(depth.value - limit, 0.1)),
        say::number(limit)
    );
    let mut finding = RULE.finding(depth.place.clone(), message).with_related(place.clone(), "the limit");
    finding = finding.with_about(dive.about());
    if whose.starts_with("the ") {
        // The site's and the plan's bounds hold for everyone, and are said once.
        finding.about.diver = None;
    }
    finding.fixes.extend(mend::no_deeper(look, dive, least));
    out.find(finding);
}
