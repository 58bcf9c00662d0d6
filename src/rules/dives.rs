//! A plan's dives as the rules look at them, and where what they find is drawn.

use super::Context;
use crate::findings::{Finding, Said};
use crate::forecast::dives::{self, DiverDive};
use crate::plan::{Carried, Cylinder, Defined, Plan};
use crate::source::Place;

/// Every diver on every dive, alternatives after the dive they belong to.
pub(crate) fn all<'a>(context: &Context<'a>) -> Vec<DiverDive<'a>> {
    context.plan.map(dives::of).unwrap_or_default()
}

/// What is said of a diver's apparatus, its model among the values.
pub(crate) fn with_model(dive: &DiverDive<'_>, said: Said) -> Said {
    match dive.model() {
        Some(model) => said.with("model", model),
        None => said,
    }
}

/// Each cylinder that a plan takes, once, with the first dive that takes it.
pub(crate) fn cylinders_taken<'a>(context: &Context<'a>) -> Vec<(DiverDive<'a>, &'a Carried, &'a Defined<Cylinder>)> {
    let mut taken: Vec<(DiverDive<'a>, &Carried, &Defined<Cylinder>)> = Vec::new();
    for dive in all(context) {
        for carried in &dive.member.cylinders {
            if let Some(cylinder) = carried.cylinder.as_deref()
                && !taken.iter().any(|(_, _, other)| other.name == cylinder.name)
            {
                taken.push((dive, carried, cylinder));
            }
        }
    }
    taken
}

/// A finding about a cylinder, caused by `cause`: it is no diver's own and is said once for the plan.
pub(crate) fn of_cylinder(
    context: &Context<'_>,
    dive: &DiverDive<'_>,
    carried: &Carried,
    finding: Finding,
    cause: &Place,
    what: &str,
) -> Finding {
    let mut finding = caused(context, finding, cause, &carried.name.place, what).with_about(dive.about());
    (finding.about.dive, finding.about.diver) = (None, None);
    finding
}

/// A finding about `cause`, a value that may stand in another file, met where this file names it at `named`: drawn
/// under the cause if that is in this file, else under the name, and related to the other.
pub(crate) fn caused(
    context: &Context<'_>,
    mut finding: Finding,
    cause: &Place,
    named: &Place,
    what: impl Into<String>,
) -> Finding {
    if cause.file == *context.file {
        finding.place = cause.clone();
        if named != cause {
            return finding.with_related(named.clone(), "taken here");
        }
        finding
    } else {
        finding.place = named.clone();
        finding.cause = Some(cause.clone());
        finding.with_related(cause.clone(), what)
    }
}

/// A finding about what a plan says at `place`: drawn there, or under the plan's own header where a template says it.
pub(crate) fn said_at(context: &Context<'_>, plan: &Plan, finding: Finding, place: &Place) -> Finding {
    let named = if place.file == *context.file { place } else { &plan.header };
    caused(context, finding, place, named, "the template says it here")
}
