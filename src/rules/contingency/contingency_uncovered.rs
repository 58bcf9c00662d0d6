//! `contingency-uncovered`: a single failure, or the plan's overrun, does not end well.

use super::covered::each;
use crate::findings::Level;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::{Context, Family, Rule, Sink};
use crate::run::Trouble;

/// The rule: an error for a single failure, a warning for an overrun.
pub(crate) const RULE: Rule = Rule::new(
    "contingency-uncovered",
    Family::Contingency,
    Level::Error,
    include_str!("contingency_uncovered.md"),
    look,
)
.safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_schedule(context, sink, Whose::All, |_, simulated, sink| {
        each(simulated, sink, &RULE, |trouble| trouble != Trouble::BuddyOnGas);
    });
}
