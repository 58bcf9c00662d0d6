//! `buddy-mismatch`: divers of one dive do not dive it together.

use crate::findings::{Finding, Level, Said, said};
use crate::forecast::dives::{self, DiverDive};
use crate::physics::tolerance;
use crate::plan::{Role, TeamMember};
use crate::rules::dives::said_at;
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::source::Place;
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("buddy-mismatch", Family::Team, Level::Warning, include_str!("buddy_mismatch.md"), look).safety();

/// Farther apart in depth divers do not reach each other soon enough, metres (common practice, no source).
pub(crate) const REACH_M: f64 = 5.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    for first in &plan.dives {
        let all: Vec<DiverDive<'_>> = dives::of_dive(plan, first).collect();
        for dive in all.iter().filter(|one| one.dive.header == first.header) {
            shared_with(context, dive, sink);
            spare_of(context, dive, sink);
        }
        for dive in std::iter::once(first).chain(&first.otherwise) {
            let team: Vec<_> = all.iter().copied().filter(|one| one.dive.header == dive.header).collect();
            left_alone(context, &team, sink);
        }
    }
}

/// `with=` that names somebody who does not breathe from the cylinder.
fn shared_with(context: &Context<'_>, dive: &DiverDive<'_>, sink: &mut Sink<'_>) {
    for carried in &dive.member.cylinders {
        let Some(with) = &carried.with else { continue };
        let (diver, cylinder) = (&dive.member.name.value, &carried.name.value);
        let buddy = dive.team().iter().find(|other| other.name.value == with.value);
        let message = match buddy {
            _ if with.value == *diver => said!("{diver} shares cylinder {cylinder:?} with {diver}", diver, cylinder),
            None => said!(
                "{diver} shares cylinder {cylinder:?} with {with}, who is not on the dive",
                with = with.value,
                diver,
                cylinder
            ),
            Some(buddy) if !takes(buddy, cylinder) => {
                said!(
                    "{diver} shares cylinder {cylinder:?} with {with}, who does not take it",
                    with = with.value,
                    diver,
                    cylinder
                )
            }
            Some(_) => continue,
        };
        let mut finding = found(context, dive, &with.place, message);
        if let Some(buddy) = buddy.filter(|buddy| buddy.name.value != *diver) {
            finding = finding.with_related(buddy.name.place.clone(), "the buddy");
        }
        sink.find(finding);
    }
}

/// A spare that no buddy brings.
fn spare_of(context: &Context<'_>, dive: &DiverDive<'_>, sink: &mut Sink<'_>) {
    let others = || dive.team().iter().filter(|other| other.name.value != dive.member.name.value);
    for carried in dive.member.cylinders.iter().filter(|carried| carried.role.value == Role::Spare) {
        let brought = |other: &TeamMember| {
            other.cylinders.iter().any(|own| own.role.value != Role::Spare && own.name.value == carried.name.value)
        };
        if others().any(brought) {
            continue;
        }
        let (diver, cylinder) = (&dive.member.name.value, &carried.name.value);
        let message = said!(
            "{diver} counts on cylinder {cylinder:?} of a buddy, and nobody else on the dive takes it",
            diver,
            cylinder
        );
        sink.find(found(context, dive, &carried.name.place, message));
    }
}

fn takes(member: &TeamMember, cylinder: &str) -> bool {
    member.cylinders.iter().any(|carried| carried.name.value == cylinder)
}

fn found(context: &Context<'_>, dive: &DiverDive<'_>, place: &Place, message: Said) -> Finding {
    let finding = RULE.finding(place.clone(), message).with_about(dive.about());
    said_at(context, dive.plan, finding, place)
}

/// A diver's depth over the dive: straight lines between these points, minutes and metres.
struct Profile<'a> {
    dive: DiverDive<'a>,
    points: Vec<(f64, f64)>,
}

impl Profile<'_> {
    fn depth_m(&self, t_min: f64) -> f64 {
        let next = self.points.partition_point(|(at, _)| *at <= t_min);
        let before = next.checked_sub(1).and_then(|before| self.points.get(before));
        match (before, self.points.get(next)) {
            (Some((t, depth)), Some((then, to))) => depth + (to - depth) * (t_min - t) / (then - t),
            // Not yet under water, or back.
            _ => 0.0,
        }
    }
}

/// A stretch of a dive on which a diver is alone.
#[derive(Clone, Copy)]
struct Alone {
    from_min: f64,
    to_min: f64,
    deepest_m: f64,
    /// How far the nearest other diver is, at the farthest, metres.
    apart_m: f64,
}

/// Whom own legs leave alone, the one who is so longest.
fn left_alone<'a>(context: &Context<'a>, team: &[DiverDive<'a>], sink: &mut Sink<'_>) {
    if team.len() < 2 || team.iter().all(|one| one.member.legs.is_empty()) {
        return;
    }
    let mut profiles = Vec::new();
    for dive in team {
        match context.simulate(dive) {
            Ok(simulated) => {
                let track = &simulated.ran.track;
                let mut points: Vec<_> =
                    track.segments.iter().map(|segment| (segment.start.t_min, segment.start.depth_m())).collect();
                points.push((track.end.t_min, track.end.depth_m()));
                profiles.push(Profile { dive: *dive, points });
            }
            Err(missing) => sink.lacks_all(missing),
        }
    }
    if profiles.len() < team.len() {
        return;
    }
    let alone = profiles.iter().filter_map(|profile| Some((profile, longest_alone(profile, &profiles)?)));
    let longest = |(_, alone): &(&Profile<'_>, Alone)| alone.to_min - alone.from_min;
    let Some((profile, alone)) = alone.max_by(|a, b| longest(a).total_cmp(&longest(b))) else { return };
    // What a person would change are the legs that differ.
    let own = profile.dive.member.legs.first().map(|leg| (leg, &profile.dive));
    let others = || team.iter().find_map(|one| Some((one.member.legs.first()?, one)));
    let Some((leg, whose)) = own.or_else(others) else { return };
    let rate = profile.dive.plan.limits.value(LimitName::AscentRate);
    let way_up = alone.deepest_m / rate;
    let message = said!(
        "{diver} has nobody within {within} m from {from} to {to}, {apart} m away at the farthest: longer than the {way_up} min that the way up takes",
        diver = profile.dive.member.name.value,
        within = say::number(REACH_M),
        from = say::run_time(alone.from_min),
        to = say::run_time(alone.to_min),
        apart = say::number(say::up(alone.apart_m, 1.0)),
        way_up = say::number(say::up(way_up, 0.1))
    );
    let finding = found(context, whose, &leg.place, message)
        .with_related(profile.dive.member.name.place.clone(), "who is alone")
        .with_step(
            "way up = depth/rate",
            format!("{} m / {} m/min", say::number(alone.deepest_m), say::number(rate)),
            format!("{way_up:.1} min"),
        )
        .with_step(
            "alone",
            format!("{:.1} − {:.1} min", alone.to_min, alone.from_min),
            format!("{:.1} min", alone.to_min - alone.from_min),
        );
    sink.find(finding);
}

/// The longest stretch that a diver is under water with everybody else out of reach, if it is longer than the way up.
fn longest_alone(profile: &Profile<'_>, all: &[Profile<'_>]) -> Option<Alone> {
    let ends = profile.points.last()?.0;
    let rate = profile.dive.plan.limits.value(LimitName::AscentRate);
    let step = (ends / MOST_STEPS).max(STEP_MIN);
    let mut longest: Option<Alone> = None;
    let mut now: Option<Alone> = None;
    for number in 0..=(ends / step) as usize {
        let t_min = number as f64 * step;
        let depth = profile.depth_m(t_min);
        let others = all.iter().filter(|other| other.dive.id() != profile.dive.id());
        let apart = others.map(|other| (other.depth_m(t_min) - depth).abs()).fold(f64::INFINITY, f64::min);
        if apart <= REACH_M + tolerance::DEPTH_M {
            now = None;
            continue;
        }
        let alone = now.get_or_insert(Alone { from_min: t_min, to_min: t_min, deepest_m: 0.0, apart_m: 0.0 });
        alone.to_min = t_min;
        alone.deepest_m = alone.deepest_m.max(depth);
        alone.apart_m = alone.apart_m.max(apart);
        let lasts = |alone: &Alone| alone.to_min - alone.from_min;
        let is_long = lasts(alone) > alone.deepest_m / rate;
        if is_long && longest.as_ref().is_none_or(|known| lasts(known) < lasts(alone)) {
            longest = Some(*alone);
        }
    }
    longest
}

/// How closely the dive is looked at, minutes; in a very long one more widely, so that it takes no longer.
const STEP_MIN: f64 = 0.1;
const MOST_STEPS: f64 = 5000.0;
