//! `descent-fast`: a leg goes down too fast.

use super::rates;
use crate::findings::Level;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("descent-fast", Family::Exposure, Level::Warning, include_str!("descent_fast.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

/// Faster than this is too fast, metres a minute (common practice, no source).
pub(crate) const FASTEST: f64 = 20.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    rates::too_fast(context, sink, &RULE, rates::Way::Down, FASTEST);
}
