//! `no-stop-exceeded`: the dive needs stops where none are allowed.

use super::decompression;
use crate::findings::Level;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("no-stop-exceeded", Family::Exposure, Level::Error, include_str!("no_stop_exceeded.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, |context, simulated, sink| {
        decompression::one(context, simulated, sink, &RULE, decompression::Allowed::None)
    });
}
