//! `use-outside`: a path out of the archive's root, or to nothing that is read.

use super::resolve_error;
use crate::findings::Level;
use crate::plan::ResolveErrorKind;
use crate::rules::{ANY_FILE, Family, FixAvailability, Rule};

/// The rule. Nothing is read to find it out: the path alone tells, or the system.
pub(crate) const RULE: Rule =
    Rule::new("use-outside", Family::Language, Level::Error, include_str!("use_outside.md"), |context, sink| {
        resolve_error::say(&RULE, ResolveErrorKind::UseOutside, context, sink)
    })
    .fixes(FixAvailability::Sometimes)
    .at(ANY_FILE);
