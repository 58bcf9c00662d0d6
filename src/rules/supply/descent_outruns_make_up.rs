//! `descent-outruns-make-up`: the loop runs short of gas on the way down.

use crate::findings::{Fix, FixKind, Level, said};
use crate::forecast::Simulated;
use crate::physics::loop_gas::free_l_per_bar;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::run::{EventKind, Purpose};

/// The rule.
pub(crate) const RULE: Rule = Rule::new(
    "descent-outruns-make-up",
    Family::Supply,
    Level::Error,
    include_str!("descent_outruns_make_up.md"),
    look,
)
.fixes(FixAvailability::Sometimes)
.safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::Loops, one);
}

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let (dive, track) = (&simulated.dive, &simulated.ran.low_feed());
    let empty = track.events.iter().find(|event| matches!(event.kind, EventKind::CylinderEmpty(_)));
    let short = track.events.iter().filter(|event| event.kind == EventKind::LoopShort && event.t_min >= 0.0);
    // A cylinder that is empty has a rule of its own.
    let Some(at) = short.map(|event| event.t_min).find(|at| empty.is_none_or(|empty| empty.t_min > *at)) else {
        return;
    };
    let Some(segment) = track.segment_at(at).filter(|segment| segment.start.bar_per_min > 0.0) else { return };
    let (Some(unit), Some(leg)) = (dive.unit(), track.asked_at(at).and_then(|leg| dive.legs().get(leg))) else {
        return;
    };
    let (bar_per_m, rate) = (dive.water().bar_per_m, segment.start.bar_per_min / dive.water().bar_per_m);
    let per_bar = free_l_per_bar(simulated.ran.dive.circuit.loop_l());
    let oxygen = track.legs.get(segment.leg).map_or(0.0, |(_, leg)| leg.work.oxygen_lpm);
    // What flows in while the loop is short: the make-up valve gives all it can.
    let inflow = |purpose| segment.lpm_at((at - segment.start.t_min).max(0.0), purpose);
    let given = inflow(Purpose::Feed) + inflow(Purpose::MakeUp);
    let taken = per_bar * segment.start.bar_per_min + oxygen;
    let fitting = say::down((given - oxygen) / (per_bar * bar_per_m), 1.0);
    let slower = if fitting >= 1.0 {
        said!(": {would_do} m a minute would do", would_do = say::number(fitting))
    } else {
        said!("")
    };
    let message = said!(
        "the loop of unit {unit:?} is too short of gas to breathe from at {depth} m on the way down: {rate} m a minute take {taken} L/min, \
         and it is given {given}{slower}",
        unit = unit.name.value,
        depth = say::number(say::up(track.depth_at(at), 1.0)),
        rate = say::number(rate),
        taken = say::number(say::up(taken, 0.1)),
        given = say::number(say::down(given, 0.1)),
        slower
    );
    let cause = leg.rate().map_or(&leg.place, |rate| &rate.place);
    let mut finding = RULE.finding(cause.clone(), message).with_about(dive.about());
    if let Some(make_up) = unit.thing.make_up_max_lpm.as_ref().map(|most| &most.place) {
        finding = finding.with_related(make_up.clone(), "the most that the valve gives");
    } else if let Some(make_up) = &unit.thing.make_up {
        finding = finding.with_related(make_up.place.clone(), "the valve");
    }
    finding = finding.with_step(
        "taken = V_loop·(293.15/307.15)·dP/dt + V",
        format!("{per_bar:.4}·{:.4} + {oxygen:.4}", segment.start.bar_per_min),
        format!("{taken:.3} free L/min"),
    );
    if let Some(rate) = leg.rate().filter(|_| fitting >= 1.0) {
        finding.fixes.extend(fix::metric(context, &rate.place, fitting, Some("m/min")).map(|edit| Fix {
            title: format!("go down at {} m a minute", say::number(fitting)),
            kind: FixKind::Suggested,
            edits: vec![edit],
        }));
    }
    sink.find(finding);
}
