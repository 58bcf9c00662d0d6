//! What the walker over the vocabulary says.

use crate::findings::{FixKind, Said};
use crate::source::Span;

/// One thing in a file that doesn't fit the vocabulary. A rule of the Language family turns it into a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VocabularyError {
    /// Which kind, and so which rule.
    pub kind: VocabularyErrorKind,
    /// Where.
    pub span: Span,
    /// What is wrong and what would be right, in a sentence or two.
    pub message: Said,
    /// Other places in the same file that take part.
    pub related: Vec<(Span, String)>,
    /// What would mend it, the likeliest first.
    pub fixes: Vec<VocabularyFix>,
}

/// One way to mend an error.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VocabularyFix {
    /// What it does, in the imperative.
    pub title: String,
    /// Whether it follows from what is written.
    pub kind: FixKind,
    /// What is replaced, with what.
    pub edits: Vec<(Span, String)>,
}

impl VocabularyFix {
    /// A mend of one edit.
    pub fn new(title: impl Into<String>, kind: FixKind, span: Span, text: impl Into<String>) -> VocabularyFix {
        VocabularyFix { title: title.into(), kind, edits: vec![(span, text.into())] }
    }

    /// Writes a text over a span.
    pub fn write(span: Span, text: &str, kind: FixKind) -> VocabularyFix {
        VocabularyFix::new(format!("write `{text}`"), kind, span, text)
    }
}

/// The kinds of error: one for each rule of the Language family that the walker can raise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum VocabularyErrorKind {
    /// A word that the vocabulary doesn't hold.
    UnknownWord,
    /// A known word where it can't stand.
    Misplaced,
    /// A value or node that must be there.
    MissingValue,
    /// A text where a number is wanted, or the like; the tired-hand slips among them.
    WrongType,
    /// An annotation that doesn't fit the quantity.
    UnitMismatch,
    /// A value outside its range.
    OutOfRange,
    /// Two definitions of one name, or two of a word that can stand once.
    DuplicateName,
    /// The same property twice.
    DuplicateProperty,
    /// A date or time of day that is none.
    DateInvalid,
}
