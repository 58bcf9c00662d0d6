//! The tree: the ways to walk it.

use std::borrow::Cow;
use std::sync::Arc;

use super::raw::{Inner, Kept, NO_PARENT, RawNode, Str};
use super::token::TokenKind;
use super::{Entry, EntryId, NodeId, SyntaxError, Value, Word, parse};
use crate::source::Span;

/// A text's tokens, nodes and entries. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Tree {
    pub(super) inner: Arc<Inner>,
}

impl Tree {
    /// Reads a text. Never fails, never recurses; its time grows with the text's length alone. A text of 4 GiB or more
    /// is read up to there.
    pub fn parse(text: &str) -> Tree {
        Tree { inner: Arc::new(parse::parse(text)) }
    }

    /// The text read.
    pub fn text(&self) -> &str {
        &self.inner.text
    }

    /// What is wrong with the text, in order.
    pub fn errors(&self) -> &[SyntaxError] {
        &self.inner.errors
    }

    /// How many more errors there are than are kept.
    pub fn more_errors(&self) -> usize {
        self.inner.more_errors
    }

    /// The tokens: joined, they are the text, byte for byte.
    pub fn tokens(&self) -> impl Iterator<Item = (TokenKind, Span)> + '_ {
        let ends = self.inner.tokens.iter().skip(1).map(|token| token.start);
        let ends = ends.chain([self.inner.text.len() as u32]);
        self.inner.tokens.iter().zip(ends).map(|(token, end)| (token.kind, Span::new(token.start, end)))
    }

    /// The token that holds the byte at an offset.
    pub fn token_at(&self, offset: u32) -> Option<(TokenKind, Span)> {
        let tokens = &self.inner.tokens;
        let index = tokens.partition_point(|token| token.start <= offset).checked_sub(1)?;
        let end = tokens.get(index + 1).map_or(self.inner.text.len() as u32, |next| next.start);
        (offset < end).then(|| (tokens[index].kind, Span::new(tokens[index].start, end)))
    }

    /// What is commented out with `/-`, in order.
    pub fn silenced(&self) -> &[Span] {
        &self.inner.silenced
    }

    fn node(&self, node: NodeId) -> &RawNode {
        &self.inner.nodes[node.0 as usize]
    }

    fn siblings(&self, from: u32, to: u32) -> impl Iterator<Item = NodeId> + '_ {
        let mut next = from;
        std::iter::from_fn(move || {
            (next < to).then(|| {
                let node = NodeId(next);
                next = self.node(node).subtree;
                node
            })
        })
    }

    /// The nodes at the top of the document, in order.
    pub fn roots(&self) -> impl Iterator<Item = NodeId> + '_ {
        self.siblings(0, self.inner.nodes.len() as u32)
    }

    /// The nodes in a node's block, in order.
    pub fn children(&self, node: NodeId) -> impl Iterator<Item = NodeId> + '_ {
        self.siblings(node.0 + 1, self.node(node).subtree)
    }

    /// All nodes, in document order.
    pub fn nodes(&self) -> impl Iterator<Item = NodeId> + '_ {
        (0..self.inner.nodes.len() as u32).map(NodeId)
    }

    /// The node in whose block a node stands.
    pub fn parent(&self, node: NodeId) -> Option<NodeId> {
        let parent = self.node(node).parent;
        (parent != NO_PARENT).then_some(NodeId(parent))
    }

    /// How many nodes stand above this one.
    pub fn depth(&self, node: NodeId) -> u32 {
        self.node(node).depth
    }

    pub(super) fn str(&self, str: &Str) -> Cow<'_, str> {
        Cow::Borrowed(match str.decoded {
            true => self.inner.decoded.get(str.inside.start as usize).map_or("", String::as_str),
            false => &self.inner.text[str.inside.range()],
        })
    }

    /// A node's name.
    pub fn name(&self, node: NodeId) -> Word<'_> {
        let name = &self.node(node).name;
        Word { text: self.str(name), span: name.span }
    }

    /// A node's type annotation; its span holds the parentheses.
    pub fn annotation(&self, node: NodeId) -> Option<Word<'_>> {
        self.node(node).annotation.as_ref().map(|(str, span)| Word { text: self.str(str), span: *span })
    }

    /// From the node's annotation or name to its last entry, without the block.
    pub fn header_span(&self, node: NodeId) -> Span {
        let raw = self.node(node);
        Span::new(raw.start(), raw.header_end)
    }

    /// From the node's annotation or name to the end of its last entry or its closing brace.
    pub fn span(&self, node: NodeId) -> Span {
        let raw = self.node(node);
        Span::new(raw.start(), raw.block.map_or(raw.header_end, |block| block.end.max(raw.header_end)))
    }

    /// From the opening brace to behind the closing one.
    pub fn block_span(&self, node: NodeId) -> Option<Span> {
        self.node(node).block
    }

    /// Where what ends the node's header begins: a line break, `;`, a brace, the text's end.
    pub(super) fn terminator(&self, node: NodeId) -> u32 {
        self.node(node).terminator
    }

    /// Arguments and properties, in order; what is commented out with `/-` is left out.
    pub fn entries(&self, node: NodeId) -> impl Iterator<Item = Entry<'_>> + '_ {
        let (from, to) = self.node(node).entries;
        (from..to).map(|entry| self.entry(EntryId(entry)))
    }

    /// An entry.
    pub fn entry(&self, entry: EntryId) -> Entry<'_> {
        let raw = &self.inner.entries[entry.0 as usize];
        let written = &self.inner.text[raw.value_span.range()];
        let value = match &raw.kept {
            Kept::Str(str) => Value::Text(self.str(str)),
            Kept::Integer => integer(written).map_or_else(|| Value::Float(float(written)), Value::Integer),
            Kept::Float => Value::Float(float(written)),
            Kept::True => Value::Bool(true),
            Kept::False => Value::Bool(false),
            Kept::Null => Value::Null,
            Kept::Bad => Value::Bad(written),
        };
        Entry {
            id: entry,
            key: raw.key.as_ref().map(|key| Word { text: self.str(key), span: key.span }),
            annotation: raw.annotation.as_ref().map(|(str, span)| Word { text: self.str(str), span: *span }),
            value,
            value_span: raw.value_span,
            span: Span::new(raw.start, raw.value_span.end),
        }
    }

    /// The node that an entry belongs to.
    pub fn node_of(&self, entry: EntryId) -> NodeId {
        NodeId(self.inner.entries[entry.0 as usize].node)
    }
}

/// A whole number as written; `None` where 128 bits don't hold it.
fn integer(written: &str) -> Option<i128> {
    let plain: Cow<'_, str> =
        if written.contains('_') { Cow::Owned(written.replace('_', "")) } else { Cow::Borrowed(written) };
    let (negative, digits) = match plain.strip_prefix('-') {
        Some(digits) => (true, digits),
        None => (false, plain.strip_prefix('+').unwrap_or(&plain)),
    };
    let (radix, digits) = match digits.as_bytes() {
        [b'0', b'x', ..] => (16, &digits[2..]),
        [b'0', b'o', ..] => (8, &digits[2..]),
        [b'0', b'b', ..] => (2, &digits[2..]),
        _ => (10, digits),
    };
    let signed = if negative { format!("-{digits}") } else { digits.to_owned() };
    i128::from_str_radix(&signed, radix).ok()
}

/// A number as written, to the nearest float.
fn float(written: &str) -> f64 {
    match written {
        "#inf" => f64::INFINITY,
        "#-inf" => f64::NEG_INFINITY,
        "#nan" => f64::NAN,
        _ => written.replace('_', "").parse().unwrap_or(f64::NAN),
    }
}
