//! `oxygen-clock`: a diver's oxygen clock runs to its limit.

use crate::findings::{Finding, Level, Wording, said};
use crate::forecast::Simulated;
use crate::physics::roots::zero;
use crate::physics::tolerance;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::run::{Exposure, Track};
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("oxygen-clock", Family::Exposure, Level::Error, include_str!("oxygen_clock.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_schedule(context, sink, Whose::All, one);
}

/// One of the two clocks.
struct Clock {
    name: &'static str,
    told: &'static str,
    of: fn(&Exposure) -> f64,
}

const CLOCKS: [Clock; 2] = [
    Clock { name: "oxygen clock", told: "", of: |exposure| exposure.clock },
    Clock { name: "24-hour oxygen clock", told: " in 24 hours", of: |exposure| exposure.day },
];

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let carried = simulated.carried;
    let took = simulated.ran.rich_mix().exposure();
    // The clock that is nearer to its limit speaks for both.
    let share = |clock: &Clock| (clock.of)(&carried) + (clock.of)(&took);
    let Some(clock) = CLOCKS.iter().max_by(|a, b| share(a).total_cmp(&share(b))) else { return };
    let warn = limit(simulated, LimitName::CnsWarn);
    if share(clock) < warn - tolerance::FRACTION {
        return;
    }
    let mut finding = finding(simulated, clock, (clock.of)(&carried), (clock.of)(&took));
    let planned = simulated.ran.rich_mix_dive();
    let margin = |track: &Track, clock: &Clock| (clock.of)(&carried) + (clock.of)(&track.exposure()) < warn;
    finding.fixes.extend(fix::shorter_stay(context, simulated, &planned, |_, track, _| {
        CLOCKS.iter().all(|clock| margin(track, clock))
    }));
    sink.find(finding);
}

/// A limit of the clocks, a share.
fn limit(simulated: &Simulated<'_>, name: LimitName) -> f64 {
    simulated.dive.plan.limits.value(name) / 100.0
}

fn finding(simulated: &Simulated<'_>, clock: &Clock, before: f64, took: f64) -> Finding {
    let (dive, track) = (&simulated.dive, simulated.ran.rich_mix());
    let most = limit(simulated, LimitName::CnsMost);
    let over = before + took >= most - tolerance::FRACTION;
    let percent = |share: f64| say::number(say::up(share * 100.0, 1.0));
    let mut message = said!(
        "{diver} is at {stands} % of CNS{over}",
        diver = *dive.member.name,
        stands = percent(before + took),
        over = Wording(clock.told)
    )
    .with("clock", clock.name);
    message += said!(" at the end of dive {dive:?}", dive = *dive.dive.name);
    if before > 0.005 {
        message += said!(", {before} % of it from before", before = percent(before));
    }
    let limit = if over { most } else { limit(simulated, LimitName::CnsWarn) };
    let at = reaches(track, clock, limit - before);
    message += said!(": {limit} % is reached at {reached} min", limit = percent(limit), reached = say::minutes_had(at));
    let mut finding = RULE.finding(dive.oxygen_is_set_at().clone(), message).with_about(dive.about());
    if !over {
        finding.level = Level::Warning;
    }
    if let Some(leg) = track.asked_at(at).and_then(|leg| dive.legs().get(leg)) {
        finding = finding.with_related(leg.place.clone(), "here it is reached");
    }
    finding.with_step(
        "clock = carried + Σ minutes/limit(PO2)",
        format!("{:.2} + {:.2} %", before * 100.0, took * 100.0),
        format!("{:.2} %", (before + took) * 100.0),
    )
}

/// When a clock has taken up a share, minutes since leaving the surface.
fn reaches(track: &Track, clock: &Clock, share: f64) -> f64 {
    let (from, to) = (track.start().t_min, track.end.t_min);
    zero(from, to, |t_min| (clock.of)(&track.at(t_min).exposure) - share).unwrap_or(if share <= 0.0 { 0.0 } else { to })
}
