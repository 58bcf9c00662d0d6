//! `turn-pressure`: the turn comes soon after the stay ends.

use super::turn::{Turn, is_close, turn};
use crate::findings::{Level, Said, Wording, said};
use crate::forecast::Simulated;
use crate::plan::Role;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("turn-pressure", Family::Supply, Level::Note, include_str!("turn_pressure.md"), look);

/// Minutes between the end of the stay and the turn under which the turn is told (common practice, no source).
pub(crate) const CLOSE_MIN: f64 = 5.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_schedule(context, sink, Whose::All, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    // Where it comes before the stay ends, what fails has rules of its own.
    if !is_close(simulated, CLOSE_MIN) {
        return;
    }
    let Some(turn) = turn(simulated) else { return };
    let margin = turn.t_min - turn.planned_min;
    let dive = &simulated.dive;
    let (Some(carried), Some(leg)) = (simulated.kit.get(turn.cylinder), dive.legs().get(turn.leg)) else { return };
    let message = said!(
        "{diver} turns at {turn}, {margin} min after the stay at {depth} m ends: later {binds}",
        diver = *dive.member.name,
        turn = pressure(&turn, carried.role.value, &carried.name.value),
        margin = say::minutes_had(margin),
        depth = say::number(say::up(turn.depth_m, 1.0)),
        binds = Wording(turn.binds.words())
    );
    let finding = RULE.finding(dive.member.name.place.clone(), message).with_about(dive.about());
    sink.find(
        finding
            .with_related(leg.place.clone(), "the stay")
            .with_step("end of the stay", "run time".to_owned(), say::run_time(turn.planned_min))
            .with_step(
                "turn = the stay lengthened until something fails",
                turn.binds.words().to_owned(),
                format!("{} at {:.2} bar", say::run_time(turn.t_min), turn.gauge_bar),
            ),
    );
}

/// The turn as a pressure: `120 bar on supply "S12-04"`.
pub(crate) fn pressure(turn: &Turn, role: Role, cylinder: &str) -> Said {
    said!("{turns_at} bar on {role} {cylinder:?}", turns_at = say::pressure_needed(turn.gauge_bar), role, cylinder)
}
