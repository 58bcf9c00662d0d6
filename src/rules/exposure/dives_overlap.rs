//! `dives-overlap`: a diver is on two dives at the same time.

use crate::findings::{Level, said};
use crate::plan::Status;
use crate::rules::dives::said_at;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("dives-overlap", Family::Exposure, Level::Error, include_str!("dives_overlap.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    if plan.dives.len() < 2 && context.beside.is_empty() {
        return;
    }
    let timeline = context.timeline();
    for (number, dive) in timeline.own_parts().enumerate() {
        // Of two of the plan's own the later one says it. What was dived is a record, of this dive as like as not.
        let own = timeline.own_parts().take(number).filter(|other| other.is_of_diver_of(&dive));
        let others = timeline.around(dive).filter(|other| other.timed.plan.status == Status::Ready);
        let mut at_once = Vec::new();
        let mut unknown = false;
        for other in own.chain(others) {
            match dive.overlaps(&other) {
                Some(true) => at_once.push(other),
                Some(false) => {}
                // Dives of one plan that say no times are dived one after the other.
                None if other.timed.plan.file == plan.file => {}
                None => unknown = true,
            }
        }
        if unknown {
            sink.lacks_all(dive.timed.lacks());
        }
        // A plan that lies before this one may stand beside it as well.
        at_once.dedup_by(|a, b| a.diver.dive.id() == b.diver.dive.id());
        let Some((first, more)) = at_once.split_first() else { continue };
        let more = if more.is_empty() { said!("") } else { said!(" (and {more} more)", more = more.len()) };
        let name = &dive.diver.dive.member.name;
        let message = said!(
            "{diver} can't be on two dives at once: {first}{more} goes {first_goes}, this one {goes}",
            diver = name.value,
            first = first.timed.named_from(plan),
            first_goes = first.timed.told(),
            goes = dive.timed.told(),
            more
        );
        let finding = RULE.finding(name.place.clone(), message).with_about(dive.diver.dive.about());
        let finding = said_at(context, plan, finding, &name.place);
        sink.find(finding.with_related(first.diver.dive.member.name.place.clone(), "on the other dive"));
    }
}
