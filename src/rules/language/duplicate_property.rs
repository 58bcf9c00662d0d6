//! `duplicate-property`: one property said twice.

use super::vocabulary_error;
use crate::findings::Level;
use crate::rules::{ANY_FILE, Family, FixAvailability, Rule};
use crate::words::VocabularyErrorKind;

/// The rule. The vocabulary's walker finds it; here it is said. What it speaks of is left unread by every other rule,
/// so lowering it needs a reason.
pub(crate) const RULE: Rule = Rule::new(
    "duplicate-property",
    Family::Language,
    Level::Error,
    include_str!("duplicate_property.md"),
    |context, sink| vocabulary_error::say(&RULE, VocabularyErrorKind::DuplicateProperty, context, sink),
)
.fixes(FixAvailability::Sometimes)
.safety()
.at(ANY_FILE);
