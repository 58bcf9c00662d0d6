//! `use-cycle`: files that use each other in a ring, or a plan that starts from itself.

use super::resolve_error;
use crate::findings::Level;
use crate::plan::ResolveErrorKind;
use crate::rules::{ANY_FILE, Family, Rule};

/// The rule. A ring of uses is a warning: what it means is plain.
pub(crate) const RULE: Rule =
    Rule::new("use-cycle", Family::Language, Level::Error, include_str!("use_cycle.md"), |context, sink| {
        resolve_error::say(&RULE, ResolveErrorKind::UseCycle, context, sink)
    })
    .at(ANY_FILE);
