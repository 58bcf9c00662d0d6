//! `supervision-ratio`: more students to an instructor than the limits allow.

use crate::findings::{About, Level, Wording, said};
use crate::plan::{Dive, Plan};
use crate::rules::dives;
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::Placed;
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("supervision-ratio", Family::Team, Level::Error, include_str!("supervision_ratio.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    let Some(limit) = plan.limits.set(LimitName::SupervisionStudents) else { return };
    // An alternative has the divers of the dive it stands for.
    for dive in &plan.dives {
        of_dive(context, plan, dive, &limit, sink);
    }
}

fn of_dive(context: &Context<'_>, plan: &Plan, dive: &Dive, limit: &Placed<f64>, sink: &mut Sink<'_>) {
    let of_role = |role: &str| -> Vec<&Placed<String>> {
        dive.divers.iter().filter_map(|diver| diver.role.as_ref()).filter(|said| said.value == role).collect()
    };
    let (students, instructors) = (of_role("student"), of_role("instructor"));
    // On a dive that teaches, whoever has no role may be another student.
    if !students.is_empty() || !instructors.is_empty() {
        for diver in dive.divers.iter().filter(|diver| diver.role.is_none()) {
            let fact = format!("`role=` of diver {:?} on dive {:?}", diver.name.value, dive.name.value);
            sink.lacks(diver.name.place.clone(), fact);
        }
    }
    let allowed = limit.value * instructors.len() as f64;
    let Some(first_over) = students.get(allowed as usize) else { return };
    let count = |number: usize, what: &str| match number {
        0 => format!("no {what}"),
        1 => format!("1 {what}"),
        _ => format!("{number} {what}s"),
    };
    let most = count(limit.value as usize, "student");
    let message = said!(
        "dive {dive:?} has {students} and {instructors}: {most} to each instructor {verb} the most",
        dive = dive.name.value,
        students = Wording(&count(students.len(), "student")),
        instructors = Wording(&count(instructors.len(), "instructor")),
        verb = Wording(if most.starts_with("1 ") { "is" } else { "are" }),
        most = Wording(&most)
    )
    .with("students", students.len())
    .with("instructors", instructors.len())
    .with("most", limit.value as usize);
    let about = About { plan: Some(plan.file.clone()), dive: Some(dive.name.value.clone()), ..About::default() };
    let finding = RULE.finding(first_over.place.clone(), message).with_about(about);
    let mut finding = dives::said_at(context, plan, finding, &first_over.place);
    for instructor in instructors {
        finding = finding.with_related(instructor.place.clone(), "an instructor");
    }
    sink.find(finding.with_related(limit.place.clone(), "the limit"));
}
