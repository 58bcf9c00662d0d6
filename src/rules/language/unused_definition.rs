//! `unused-definition`: a definition in a plan that nothing in the plan uses.

use super::resolve_error;
use crate::findings::Level;
use crate::plan::ResolveErrorKind;
use crate::rules::{ANY_FILE, Family, Rule};

/// The rule. There is no fix: a definition holds measured and dated facts, which no fix takes away.
pub(crate) const RULE: Rule = Rule::new(
    "unused-definition",
    Family::Language,
    Level::Note,
    include_str!("unused_definition.md"),
    |context, sink| resolve_error::say(&RULE, ResolveErrorKind::UnusedDefinition, context, sink),
)
.at(ANY_FILE);
