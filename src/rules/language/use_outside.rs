//! `use-outside`: a path out of the archive's root, or to nothing that is read.

use super::resolve_error;
use crate::findings::{Finding, Level};
use crate::plan::ResolveErrorKind;
use crate::rules::{ANY_FILE, Family, FixAvailability, Rule};
use crate::source::{FileId, Place, Span};

/// The rule. Nothing is read to find it out: the path alone tells, or the system.
pub const RULE: Rule =
    Rule::new("use-outside", Family::Language, Level::Error, include_str!("use_outside.md"), |context, sink| {
        resolve_error::say(&RULE, ResolveErrorKind::UseOutside, context, sink)
    })
    .fixes(FixAvailability::Sometimes)
    .at(ANY_FILE);

/// A file or folder of the archive that is not read, and why.
pub fn refused(file: &FileId, why: &str) -> Finding {
    RULE.finding(Place::new(file.clone(), Span::at(0)), format!("{file} is not read: it {why}"))
}
