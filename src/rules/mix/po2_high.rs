//! `po2-high`: a loop has more oxygen than its diver may work in.

use crate::findings::{Fix, FixKind, Level, said};
use crate::forecast::Simulated;
use crate::forecast::dives::deepest_breathed;
use crate::forecast::dives::{DiverDive, fractions};
use crate::forecast::limits;
use crate::physics::roots::zero;
use crate::physics::{SetPoint, tolerance};
use crate::plan::{ApparatusKind, Role};
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};

/// The rule.
pub(crate) const RULE: Rule = Rule::new("po2-high", Family::Mix, Level::Error, include_str!("po2_high.md"), look)
    .fixes(FixAvailability::Sometimes)
    .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::Loops, one);
}

/// Suggests the highest set-point in bar, by tenths, with which the loop stays within a limit.
fn lower(context: &Context<'_>, dive: &DiverDive<'_>, limit: f64) -> Option<Fix> {
    let point = dive.member.set_point.as_ref().filter(|_| context.searches_fixes())?;
    let now = point.value.bar()?;
    let fits = |value: &f64| {
        let mut member = dive.member.clone();
        member.set_point = Some(point.clone().map(|_| SetPoint::Bar(*value)));
        let lowered = DiverDive { member: &member, ..*dive };
        let simulated = context.simulate_instead(dive, &lowered);
        simulated.is_ok_and(|simulated| greatest(&simulated).is_some_and(|(po2, _)| po2 <= limit + tolerance::PO2_BAR))
    };
    let highest = say::down(limit.min(now - 0.05), 0.1);
    let value = (0..8).map(|tenths| highest - f64::from(tenths) * 0.1).filter(|value| *value >= 0.5).find(fits)?;
    let edit = fix::metric(context, &point.place, value, None)?;
    Some(Fix { title: format!("ask for {} bar", say::number(value)), kind: FixKind::Suggested, edits: vec![edit] })
}

/// The greatest oxygen pressure on the loop, bar, and its moment.
fn greatest(simulated: &Simulated<'_>) -> Option<(f64, f64)> {
    let on_loop = simulated.ran.rich_mix().under_way().filter(|segment| segment.start.source == 0);
    let of = on_loop.flat_map(|segment| {
        let breath = &segment.regime.breath;
        let turn = breath.turning(segment.start.bar, segment.start.bar_per_min, segment.minutes);
        let moments = [Some(0.0), turn, Some(segment.minutes)].into_iter().flatten();
        moments.map(|minutes| (segment.po2_at(minutes), segment.start.t_min + minutes))
    });
    of.max_by(|a, b| a.0.total_cmp(&b.0))
}

/// So long may a closed loop be over the limit on the way down, minutes of run time (common practice, no source).
const BRIEF_MIN: f64 = 3.0;

/// How long a closed loop is over its limit, where that is on ways down alone, never longer than a moment in a row and never
/// over what is allowed on stops: its diluent and its set-point are right for the place it goes to. `None` otherwise.
fn brief(simulated: &Simulated<'_>, limit_bar: f64, deco_bar: f64) -> Option<f64> {
    if simulated.dive.kind() != Some(ApparatusKind::Closed) || greatest(simulated)?.0 > deco_bar + 1e-6 {
        return None;
    }
    let (mut longest, mut in_a_row): (f64, f64) = (0.0, 0.0);
    for segment in simulated.ran.rich_mix().under_way().filter(|segment| segment.start.source == 0) {
        let breath = &segment.regime.breath;
        let (bar, rate, lasts) = (segment.start.bar, segment.start.bar_per_min, segment.minutes);
        let cuts = [Some(0.0), breath.turning(bar, rate, lasts), Some(lasts)].into_iter().flatten();
        let cuts: Vec<f64> = cuts.collect();
        let over = |minutes: f64| segment.po2_at(minutes) - limit_bar - 1e-6;
        for (from, to) in cuts.iter().zip(cuts.iter().skip(1)) {
            // Between two turns it goes one way.
            let crosses = zero(*from, *to, over);
            let minutes = match (over(*from) > 0.0, over(*to) > 0.0) {
                (true, true) => to - from,
                (true, false) => crosses.unwrap_or(*to) - from,
                (false, true) => to - crosses.unwrap_or(*from),
                (false, false) => 0.0,
            };
            if over(*from) <= 0.0 {
                in_a_row = 0.0;
            }
            if minutes > 0.0 && rate <= 0.0 {
                return None;
            }
            in_a_row += minutes;
            longest = longest.max(in_a_row);
            if over(*to) <= 0.0 {
                in_a_row = 0.0;
            }
        }
    }
    (longest > 0.0 && longest < BRIEF_MIN).then_some(longest)
}

/// Whether what feeds the loop is itself too rich for the depth: that has a rule of its own, and this comes of it.
fn feeds_too_rich(dive: &DiverDive<'_>, limit: f64) -> bool {
    [Role::Supply, Role::Diluent].into_iter().any(|role| {
        let pressure = deepest_breathed(dive, role).map(|depth| dive.water().pressure_bar(depth.value));
        dive.cylinders(role).any(|carried| {
            let gas = dive.gas(carried);
            gas.is_ok_and(|gas| {
                pressure.is_some_and(|bar| fractions(gas.rich).po2_bar(bar) > limit + tolerance::PO2_BAR)
            })
        })
    })
}

fn one(context: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let dive = &simulated.dive;
    let limit = limits::po2(&dive.plan.limits, Role::Supply);
    let Some((po2, at)) = greatest(simulated).filter(|(po2, _)| *po2 > limit.value + tolerance::PO2_BAR) else {
        return;
    };
    if feeds_too_rich(dive, limit.value) {
        return;
    }
    let track = simulated.ran.rich_mix();
    let message = said!(
        "{diver} breathes {po2} bar of oxygen on the loop {moment}: {limit} bar are allowed",
        diver = *dive.member.name,
        po2 = say::number(say::up(po2, 0.01)),
        moment = say::moment(at, track.depth_at(at)),
        limit = say::number(limit.value)
    );
    let brief = brief(simulated, limit.value, limits::po2(&dive.plan.limits, Role::Deco).value);
    let point = dive.set_point_at_depth();
    let cause = point.map(|point| &point.place).or(dive.main_gas().map(|carried| &carried.name.place));
    let cause = cause.unwrap_or(&dive.member.name.place);
    let mut finding = RULE.finding(cause.clone(), message).with_about(dive.about());
    if let Some(minutes) = brief {
        finding.level = Level::Warning;
        let minutes = say::number(say::up(minutes, 0.1));
        finding.say_more(said!("; on the way down only, for {minutes} min", minutes));
    }
    if let Some(leg) = track.asked_at(at).and_then(|leg| dive.legs().get(leg)) {
        finding = finding.with_related(leg.place.clone(), "here it is greatest");
    }
    if let Some(place) = limit.place.clone() {
        finding = finding.with_related(place, "the limit");
    }
    finding.fixes.extend(lower(context, dive, limit.value));
    sink.find(finding);
}
