//! How a tree is kept: flat arrays over the text.

use super::SyntaxError;
use super::token::Token;
use crate::source::Span;

/// A string of the text: where it stands, and what it means, which is a part of the text or was decoded.
#[derive(Debug, Clone, Copy)]
pub(super) struct Str {
    /// Where it stands, quotes included.
    pub span: Span,
    /// Where its meaning lies in the text, or (its index, 0) among the decoded strings.
    pub inside: Span,
    /// Whether it was decoded.
    pub decoded: bool,
}

/// A value as it is kept.
#[derive(Debug, Clone, Copy)]
pub(super) enum Kept {
    Str(Str),
    Integer,
    Float,
    True,
    False,
    Null,
    Bad,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct RawEntry {
    pub node: u32,
    pub key: Option<Str>,
    pub annotation: Option<(Str, Span)>,
    pub kept: Kept,
    pub value_span: Span,
    pub start: u32,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct RawNode {
    pub parent: u32,
    pub depth: u32,
    /// One past the last node below it.
    pub subtree: u32,
    pub entries: (u32, u32),
    pub annotation: Option<(Str, Span)>,
    pub name: Str,
    /// End of the last entry or the name.
    pub header_end: u32,
    /// Where what ends the node's header line begins: a line break, `;`, a brace, the text's end.
    pub terminator: u32,
    pub block: Option<Span>,
}

pub(super) const NO_PARENT: u32 = u32::MAX;

#[derive(Debug, Default)]
pub(super) struct Inner {
    pub text: String,
    /// How many more errors there are than are kept.
    pub more_errors: usize,
    pub tokens: Vec<Token>,
    pub nodes: Vec<RawNode>,
    pub entries: Vec<RawEntry>,
    pub decoded: Vec<String>,
    pub errors: Vec<SyntaxError>,
    /// What is commented out with `/-`, in order.
    pub silenced: Vec<Span>,
}

impl RawNode {
    pub(super) fn start(&self) -> u32 {
        self.annotation.as_ref().map_or(self.name.span.start, |(_, span)| span.start)
    }
}
