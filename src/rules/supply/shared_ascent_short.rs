//! `shared-ascent-short`: a buddy who breathes from the diver's way out leaves both without gas.

use crate::findings::Level;
use crate::rules::contingency::covered;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::{Context, Family, Rule, Sink};
use crate::run::Trouble;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("shared-ascent-short", Family::Supply, Level::Error, include_str!("shared_ascent_short.md"), look)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_schedule(context, sink, Whose::All, |_, simulated, sink| {
        covered::each(simulated, sink, &RULE, |trouble| trouble == Trouble::BuddyOnGas);
    });
}
