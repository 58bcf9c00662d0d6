//! Text to tree, whatever the text.
//!
//! A [`Tree`] is tokens that tile the text byte for byte and over them flat arrays of nodes and entries. There is
//! a tree for any text; what doesn't fit is a `Bad` token with a [`SyntaxError`] beside it, and everything
//! else in the text is still read. Nothing here recurses.

mod at;
mod balance;
mod bytes;
mod parse;
mod raw;
mod string;
mod to_kdl;
mod token;
mod tree;
mod words;

pub(crate) use bytes::is_newline;
pub(crate) use string::{quoted, written};
pub use token::TokenKind;
pub use tree::Tree;

use std::borrow::Cow;

use crate::source::Span;

/// Names a node of one tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub(crate) u32);

/// Names an entry (an argument or a property) of one tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EntryId(pub(crate) u32);

/// A word of the text (unquoted where it was quoted) and where it stands, quotes included.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word<'t> {
    /// The word as it is meant.
    pub text: Cow<'t, str>,
    /// Where it stands.
    pub span: Span,
}

/// The value of an entry.
#[derive(Debug, Clone, PartialEq)]
pub enum Value<'t> {
    /// A string, quoted or not.
    Text(Cow<'t, str>),
    /// A whole number.
    Integer(i128),
    /// A number with a fraction or an exponent, or `#inf`, `#-inf`, `#nan`.
    Float(f64),
    /// `#true` or `#false`.
    Bool(bool),
    /// `#null`.
    Null,
    /// Something that is no KDL value, as written; an error says why.
    Bad(&'t str),
}

/// An argument or a property.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<'t> {
    /// Its name in the tree.
    pub id: EntryId,
    /// The property's name; `None` for an argument.
    pub key: Option<Word<'t>>,
    /// The type annotation, its parentheses not in the text but in the span.
    pub annotation: Option<Word<'t>>,
    /// The value.
    pub value: Value<'t>,
    /// Where the value stands, without key and annotation.
    pub value_span: Span,
    /// Where the whole entry stands.
    pub span: Span,
}

/// What a reader of the text should know about one of its defects.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SyntaxError {
    /// What kind of defect, for tools that mend it.
    pub kind: SyntaxErrorKind,
    /// Where.
    pub span: Span,
    /// What is wrong, in a sentence.
    pub message: String,
    /// What to do about it, in the imperative, where there is one thing to do.
    pub help: Option<String>,
    /// Replacements that mend it without changing what was meant: (what, with what).
    pub fix: Option<(String, Vec<(Span, String)>)>,
}

/// The kinds of defect a text can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SyntaxErrorKind {
    /// Bytes that belong to no token, or a token where none of its kind can stand.
    Unexpected,
    /// A string, comment, block or annotation that is not closed.
    Unclosed,
    /// A `}` that closes nothing.
    Unopened,
    /// A word that needs quotes: `2027-05-15`, `09:40`.
    WantsQuotes,
    /// A number with a unit glued on: `12L`.
    WantsAnnotation,
    /// A number, string or escape that KDL does not allow.
    Malformed,
    /// More nesting than the stated bound.
    TooDeep,
}

impl SyntaxErrorKind {
    /// Its name for programs.
    pub const fn word(self) -> &'static str {
        match self {
            SyntaxErrorKind::Unexpected => "unexpected",
            SyntaxErrorKind::Unclosed => "unclosed",
            SyntaxErrorKind::Unopened => "unopened",
            SyntaxErrorKind::WantsQuotes => "wants-quotes",
            SyntaxErrorKind::WantsAnnotation => "wants-annotation",
            SyntaxErrorKind::Malformed => "malformed",
            SyntaxErrorKind::TooDeep => "too-deep",
        }
    }
}

/// What stands at an offset: the smallest thing that touches it, and what it is part of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct At {
    /// The innermost node whose header or block holds the offset.
    pub node: Option<NodeId>,
    /// The part of that node.
    pub part: Part,
    /// The span of that part; empty where there is nothing yet.
    pub span: Span,
}

/// The parts of a node that an offset can stand in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The node's name.
    Name,
    /// The node's or an entry's type annotation.
    Annotation(Option<EntryId>),
    /// A property's name.
    Key(EntryId),
    /// An entry's value.
    Value(EntryId),
    /// The gap in a node's header where a further entry may stand.
    Header,
    /// The gap in a block (or in the document, `node` then `None`) where a further node may stand.
    Block,
    /// A comment, or something commented out with `/-`.
    Comment,
}

/// The deepest nesting of blocks that is read as nodes; what lies deeper is one `Bad` token with an error.
pub const MAX_DEPTH: u32 = 200;

/// How many errors of one text are kept: of one with more than anybody would read, the rest are counted.
pub const MOST_ERRORS: usize = 2_000;
