//! `duplicate-name`: one name for two things, or a word twice that can stand once.

use super::{resolve_error, vocabulary_error};
use crate::findings::Level;
use crate::plan::ResolveErrorKind;
use crate::rules::{ANY_FILE, Context, Family, FixAvailability, Rule, Sink};
use crate::words::VocabularyErrorKind;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("duplicate-name", Family::Language, Level::Error, include_str!("duplicate_name.md"), look)
        .fixes(FixAvailability::Sometimes)
        .at(ANY_FILE);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    resolve_error::say(&RULE, ResolveErrorKind::DuplicateName, context, sink);
    vocabulary_error::say(&RULE, VocabularyErrorKind::DuplicateName, context, sink);
}
