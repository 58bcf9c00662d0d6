//! `missing-value`: a value, or a word below another, that must be there.

use super::vocabulary_error;
use crate::findings::Level;
use crate::rules::{ANY_FILE, Family, Rule};
use crate::words::VocabularyErrorKind;

/// The rule. The vocabulary's walker finds it; here it is said. What it speaks of is left unread by every other rule,
/// so lowering it needs a reason.
pub(crate) const RULE: Rule =
    Rule::new("missing-value", Family::Language, Level::Error, include_str!("missing_value.md"), |context, sink| {
        vocabulary_error::say(&RULE, VocabularyErrorKind::MissingValue, context, sink)
    })
    .safety()
    .at(ANY_FILE);
