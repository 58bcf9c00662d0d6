//! `ascent-fast`: a leg goes up too fast.

use super::rates;
use crate::findings::Level;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("ascent-fast", Family::Exposure, Level::Warning, include_str!("ascent_fast.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

/// Faster than this is too fast, metres a minute (common practice, no source).
pub(crate) const FASTEST: f64 = 10.0;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    rates::too_fast(context, sink, &RULE, rates::Way::Up, FASTEST);
}
