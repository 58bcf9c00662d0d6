//! `bailout-mod`: the gas to get out on may not be breathed at the deepest place of the dive.

use crate::findings::Level;
use crate::plan::Role;
use crate::rules::mix::operating_depth;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("bailout-mod", Family::Supply, Level::Error, include_str!("bailout_mod.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    operating_depth::each(context, sink, &RULE, Role::is_to_get_out_on);
}
