//! `training-short`: a diver is not trained for the apparatus or for the depth.

use crate::findings::{Level, Wording, said};
use crate::forecast::dives::DiverDive;
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Course, Defined, Training};
use crate::rules::dives;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("training-short", Family::Team, Level::Error, include_str!("training_short.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context) {
        let (Some(diver), Some(kind), Some(_)) = (dive.diver(), dive.kind(), dive.day()) else { continue };
        if let Some(course) = dive.taught() {
            deeper_than_the_course(context, &dive, course, sink);
            continue;
        }
        if diver.trained.is_empty() {
            let who = &dive.member.name;
            sink.lacks(who.place.clone(), format!("`trained` of diver {:?}", **who));
            continue;
        }
        let depth = |training: &Training| training.depth_m.as_ref().map_or(0.0, |depth| depth.value);
        let deepest = diver
            .trained
            .iter()
            .filter(|training| dive.is_covered_by(training))
            .max_by(|a, b| depth(&a.what).total_cmp(&depth(&b.what)));
        match deepest {
            None => not_of_kind(&dive, kind, sink),
            Some(training) => too_deep(context, &dive, &training.what, sink),
        }
    }
}

/// What a student does beyond the course, whatever they are trained for besides.
fn deeper_than_the_course(context: &Context<'_>, dive: &DiverDive<'_>, course: &Defined<Course>, sink: &mut Sink<'_>) {
    let (Some(deepest), Some(most)) = (dive.deepest(), &course.thing.depth_m) else { return };
    if deepest.value <= most.value + tolerance::DEPTH_M {
        return;
    }
    let message = said!(
        "course {course:?} takes {diver} to {most} m, and the dive goes to {depth} m",
        course = course.name.value,
        diver = *dive.member.name,
        most = say::number(most.value),
        depth = say::number(deepest.value)
    );
    let finding = RULE.finding(deepest.place.clone(), message).with_about(dive.about());
    let mut finding = finding
        .with_related(dive.member.name.place.clone(), "the student")
        .with_related(most.place.clone(), "the course");
    finding.fixes.extend(fix::no_deeper(context, dive, most.value));
    sink.find(finding);
}

fn not_of_kind(dive: &DiverDive<'_>, kind: ApparatusKind, sink: &mut Sink<'_>) {
    let place = dive.member.unit_name.as_ref().map_or(&dive.member.name.place, |unit| &unit.place);
    let message = said!(
        "{diver} is not trained for {phrase} on the day of the dive",
        diver = *dive.member.name,
        phrase = Wording(&dive.phrase(kind))
    )
    .with("kind", kind.word());
    let message = dives::with_model(dive, message);
    let mut finding = RULE.finding(place.clone(), message).with_about(dive.about());
    for training in dive.diver().iter().flat_map(|diver| &diver.trained) {
        finding = finding.with_related(training.place.clone(), "what there is");
    }
    sink.find(finding);
}

fn too_deep(context: &Context<'_>, dive: &DiverDive<'_>, training: &Training, sink: &mut Sink<'_>) {
    let (Some(deepest), Some(trained)) = (dive.deepest(), &training.depth_m) else {
        if training.depth_m.is_none() {
            let who = &dive.member.name;
            sink.lacks(who.place.clone(), format!("the depth that diver {:?} is trained to", **who));
        }
        return;
    };
    if deepest.value <= trained.value + tolerance::DEPTH_M {
        return;
    }
    let message = said!(
        "{diver} is trained to {trained} m and would go to {depth} m",
        diver = *dive.member.name,
        trained = say::number(trained.value),
        depth = say::number(deepest.value)
    );
    let finding = RULE.finding(deepest.place.clone(), message).with_about(dive.about());
    let mut finding = finding
        .with_related(dive.member.name.place.clone(), "the diver")
        .with_related(trained.place.clone(), "the training");
    finding.fixes.extend(fix::no_deeper(context, dive, trained.value));
    sink.find(finding);
}
