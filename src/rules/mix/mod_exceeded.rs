//! `mod-exceeded`: a gas is breathed deeper than its operating depth.

use super::operating_depth::each;
use crate::findings::Level;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("mod-exceeded", Family::Mix, Level::Error, include_str!("mod_exceeded.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each(context, sink, &RULE, |role| !role.is_to_get_out_on());
}
