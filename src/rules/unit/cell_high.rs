//! `cell-high`: a cell gives more in oxygen than its reading in air promises.

use super::linearity::{Off, each};
use crate::findings::Level;
use crate::rules::{Context, Family, Rule, Sink};

/// The rule: a note from 5 % on.
pub(crate) const RULE: Rule =
    Rule::new("cell-high", Family::Unit, Level::Error, include_str!("cell_high.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each(context, sink, &RULE, Off::More);
}
