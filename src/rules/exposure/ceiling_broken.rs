//! `ceiling-broken`: a leg goes above the ceiling in spite of the stops that are written.

use super::ceiling;
use crate::findings::Level;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("ceiling-broken", Family::Exposure, Level::Error, include_str!("ceiling_broken.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, |context, simulated, sink| {
        ceiling::one(context, simulated, sink, &RULE, ceiling::Said::StopTooShort)
    });
}
