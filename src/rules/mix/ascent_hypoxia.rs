//! `ascent-hypoxia`: going up from some moment of the dive, the loop runs out of oxygen on the way.

use super::po2_low;
use crate::findings::Level;
use crate::forecast::Simulated;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::run::{ASCENT_RATE, Leg, Planned, Why, Work, run};

/// The rule.
pub const RULE: Rule = Rule::new("ascent-hypoxia", Family::Mix, Level::Error, include_str!("ascent_hypoxia.md"), look)
    .never_waived()
    .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::Loops, one);
}

/// The least oxygen pressure on a way up at once from some moment, bar, with that moment and its depth.
fn least_going_up(simulated: &Simulated<'_>) -> Option<(f64, f64, f64)> {
    let track = simulated.ran.low_feed();
    let dive = simulated.ran.low_feed_dive();
    let sources = dive.sources();
    // On a leg the loop runs towards one end: the worst moments are where legs end, and where it is leanest.
    let ends = track.legs.iter().skip(1).map(|(begins, _)| *begins).chain([track.end.t_min]);
    let legs = track.legs.iter().zip(ends).map(|((_, leg), ends)| (ends, leg.work));
    let leanest = track.extremes(0.0, &dive.limits).map(|extremes| extremes.least_o2.1);
    let leanest = leanest.and_then(|at| Some((at, track.legs.get(track.segment_at(at)?.leg)?.1.work)));
    let up = |(t_min, work): (f64, Work)| {
        let from = track.at(t_min);
        let depth = from.depth_m();
        if t_min < 0.0 || depth <= 0.0 || from.source != 0 {
            return None;
        }
        let legs = [Leg::new(0.0, depth / ASCENT_RATE, work, Why::WayHome)];
        let going = run(from, &mut Planned::new(&legs), &sources, &dive.limits);
        let (po2, _) = going.extremes(t_min, &dive.limits)?.least_po2_bar;
        Some((po2, t_min, depth))
    };
    legs.chain(leanest).filter_map(up).min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Whether a diver who goes up at once faints on the way.
pub fn faints(simulated: &Simulated<'_>) -> bool {
    least_going_up(simulated).is_some_and(|(po2, ..)| po2 < simulated.ran.dive.limits.faint_bar - 1e-9)
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    // Where there is too little as planned, that is said.
    if po2_low::least(simulated).is_some() {
        return;
    }
    let faint = simulated.ran.dive.limits.faint_bar;
    let Some((po2, at, depth)) = least_going_up(simulated).filter(|(po2, ..)| *po2 < faint - 1e-9) else { return };
    let dive = &simulated.dive;
    let state = simulated.ran.low_feed().at(at);
    let message = format!(
        "going up at once {}, from {} m, {} breathes {} bar of oxygen before the surface: under {} bar \
         a diver faints",
        say::into_the_dive(at),
        say::number(say::up(depth, 1.0)),
        *dive.member.name,
        say::po2_had(po2),
        say::number(faint),
    );
    let cause = dive.main_gas().map_or(&dive.member.name.place, |carried| &carried.name.place);
    let mut finding = RULE.finding(cause.clone(), message).with_about(dive.about());
    if let Some(leg) = simulated.ran.low_feed().asked_at(at).and_then(|leg| dive.legs().get(leg)) {
        finding = finding.with_related(leg.place.clone(), "at the end of this");
    }
    if let Some(gas) = dive.main_gas().and_then(|carried| dive.gas(carried).ok()) {
        finding = finding.with_related(gas.lean.place.clone(), "the mix");
    }
    sink.find(
        finding
            .with_step(
                "the loop before going up",
                format!("{:.4}·{:.4} bar", state.breathed.o2, state.bar),
                format!("{:.4} bar", state.breathed.o2 * state.bar),
            )
            .with_step(
                "N·dF/dt = Q·Fs − V − (Q − V)·F on the way up",
                format!("at {} m a minute", say::number(ASCENT_RATE)),
                format!("{po2:.4} bar at the least"),
            ),
    );
}
