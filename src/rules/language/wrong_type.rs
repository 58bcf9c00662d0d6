//! `wrong-type`: a text where a number is wanted, or the like.

use super::vocabulary_error;
use crate::findings::Level;
use crate::rules::{ANY_FILE, Family, FixAvailability, Rule};
use crate::words::VocabularyErrorKind;

/// The rule. The vocabulary's walker finds it; here it is said. What it speaks of is left unread by every other rule,
/// so lowering it needs a reason.
pub(crate) const RULE: Rule =
    Rule::new("wrong-type", Family::Language, Level::Error, include_str!("wrong_type.md"), |context, sink| {
        vocabulary_error::say(&RULE, VocabularyErrorKind::WrongType, context, sink)
    })
    .fixes(FixAvailability::Sometimes)
    .safety()
    .at(ANY_FILE);
