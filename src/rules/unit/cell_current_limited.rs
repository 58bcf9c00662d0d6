//! `cell-current-limited`: an oxygen cell gives less in oxygen than its reading in air promises.

use super::linearity::{Off, each};
use crate::findings::Level;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("cell-current-limited", Family::Unit, Level::Error, include_str!("cell_current_limited.md"), look)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each(context, sink, &RULE, Off::Less);
}
