//! `unresolved-name`: a name that nothing in sight defines.

use super::resolve_error;
use crate::findings::Level;
use crate::plan::ResolveErrorKind;
use crate::rules::{ANY_FILE, Family, FixAvailability, Rule};

/// The rule. The archive finds what can't be resolved; here it is said.
pub(crate) const RULE: Rule = Rule::new(
    "unresolved-name",
    Family::Language,
    Level::Error,
    include_str!("unresolved_name.md"),
    |context, sink| resolve_error::say(&RULE, ResolveErrorKind::UnresolvedName, context, sink),
)
.fixes(FixAvailability::Sometimes)
.at(ANY_FILE);
