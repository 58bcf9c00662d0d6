//! Where a way up that a plan writes out leads above the ceiling.

use super::decompression;
use crate::findings::{Fix, FixKind, said};
use crate::forecast::Simulated;
use crate::physics::tissues::Line;
use crate::physics::tolerance;
use crate::plan::{Leg, LegKind};
use crate::rules::runs::lacks_gradient;
use crate::rules::{Context, Rule, Sink, fix, say};
use crate::run::{State, Why};
use crate::source::{Edit, Span};

/// Which of the two defects is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    /// There are stops, and they do not do.
    StopTooShort,
    /// There is none.
    NoStop,
}

/// Where a way up breaks the ceiling.
#[derive(Debug, Clone, Copy)]
struct Broken {
    /// The plan's leg.
    number: usize,
    /// When, minutes since leaving the surface.
    t_min: f64,
    depth_m: f64,
    ceiling_m: f64,
    /// How deep the way up began.
    from_m: f64,
}

/// Less than this above a limit is rounding, bar: a centimetre.
const ROUNDING_BAR: f64 = 1e-3;
/// A way up is looked at after so many equal parts of it.
const PARTS: u32 = 8;

/// Says where a written way up first leads above the ceiling, if it is the defect that is asked for.
pub(super) fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>, rule: &Rule, said: Said) {
    let dive = &simulated.dive;
    let legs = dive.legs();
    let Some(broken) = *simulated.ran.answer("ceiling broken", &[], || broken(simulated)) else {
        // Ways up that the plan leaves open break none.
        if legs.iter().any(goes_up) {
            lacks_gradient(simulated, sink);
        }
        return;
    };
    let Some(leg) = legs.get(broken.number) else { return };
    let mut stops = legs.iter().take(broken.number + 1).filter(|leg| matches!(leg.kind, LegKind::Stop { .. }));
    let below = |stop: &&Leg| stop.depth_m().is_some_and(|depth| depth.value <= broken.from_m + tolerance::DEPTH_M);
    let stop = stops.rfind(below);
    if stop.is_some() != (said == Said::StopTooShort) {
        return;
    }
    let place = leg.depth_m().map_or(&leg.place, |depth| &depth.place);
    let message = said!(
        "{diver} is at {depth} m {moment}, above a ceiling of {ceiling} m",
        diver = *dive.member.name,
        depth = say::number(say::down(broken.depth_m.max(0.0), 0.1)),
        moment = say::into_the_dive(broken.t_min),
        ceiling = say::number(say::up(broken.ceiling_m, 0.1))
    );
    let mut finding = rule.finding(place.clone(), message).with_about(dive.about());
    if let Some(stop) = stop {
        finding = finding.with_related(stop.place.clone(), "the stop before");
    }
    finding = finding.with_step(
        format!("ceiling by ZH-L16C with {}", decompression::gradient(simulated)),
        format!("run time {}", say::run_time(broken.t_min)),
        format!("{:.2} m", broken.ceiling_m),
    );
    finding.fixes.extend(leave_open(context, leg));
    sink.find(finding);
}

/// Whether a leg may lead up to a depth that it says.
fn goes_up(leg: &Leg) -> bool {
    matches!(leg.kind, LegKind::Ascend { .. } | LegKind::Stop { .. } | LegKind::Travel { .. })
        && leg.depth_m().is_some()
}

/// Where a written way up first breaks the ceiling.
fn broken(simulated: &Simulated<'_>) -> Option<Broken> {
    let (planned, track) = (&simulated.ran.dive, &simulated.ran.track);
    let stops = planned.home.stops?;
    let sources = planned.sources();
    let mut line: Option<Line> = None;
    for (at, (begins, leg)) in track.legs.iter().enumerate() {
        let ends = track.legs.get(at + 1).map_or(track.end.t_min, |(begins, _)| *begins);
        let from_m = track.depth_at(*begins);
        if leg.to_m > from_m + tolerance::DEPTH_M {
            line = None;
        }
        let Why::Asked(number) = leg.why else { continue };
        if leg.to_m >= from_m - tolerance::DEPTH_M {
            continue;
        }
        let holds = *line.get_or_insert_with(|| {
            let home = planned.home_from(track.at(*begins), &sources, planned.home.ascent);
            let first = home.legs.iter().find(|(_, leg)| leg.why == Why::Stop).map_or(0.0, |(_, leg)| leg.to_m);
            Line { gradients: stops.gradients, first_stop_m: first }
        });
        let over = |state: &State| {
            let body = state.exposure.body?;
            let depth_m = state.depth_m().max(0.0);
            let excess = body.tissues.worst_bar(state.bar, holds.at(depth_m));
            (excess > ROUNDING_BAR).then(|| (depth_m, holds.ceiling_m(&body.tissues, &state.water)))
        };
        for part in 1..=PARTS {
            let t_min = begins + (ends - begins) * f64::from(part) / f64::from(PARTS);
            if let Some((depth_m, ceiling_m)) = over(&track.without_clocks_at(t_min)) {
                return Some(Broken { number, t_min, depth_m, ceiling_m, from_m });
            }
        }
    }
    None
}

/// Suggests to leave the depth of the last way up open, so that its stops are worked out.
fn leave_open(context: &Context<'_>, leg: &Leg) -> Option<Fix> {
    let depth = leg.depth_m().filter(|depth| matches!(leg.kind, LegKind::Ascend { .. }) && depth.value <= 0.0)?;
    // The value with the space before it.
    let edit = fix::metric(context, &depth.place, 0.0, None)?;
    let before = context.text.as_str().get(..edit.place.span.start as usize)?;
    let spaces = before.len() - before.trim_end_matches([' ', '\t']).len();
    let span = Span { start: edit.place.span.start - u32::try_from(spaces).ok()?, end: edit.place.span.end };
    Some(Fix {
        title: "have the stops worked out".to_owned(),
        kind: FixKind::Suggested,
        edits: vec![Edit { place: context.here(span), text: String::new() }],
    })
}
