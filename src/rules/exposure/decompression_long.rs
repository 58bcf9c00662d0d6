//! `decompression-long`: the stops are longer than is allowed.

use super::decompression;
use crate::findings::Level;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("decompression-long", Family::Exposure, Level::Error, include_str!("decompression_long.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, |context, simulated, sink| {
        decompression::one(context, simulated, sink, &RULE, decompression::Allowed::Some)
    });
}
