//! What is left as it is: where there is a fault, white space may mean something yet.

use crate::source::Span;
use crate::syntax::{NodeId, SyntaxErrorKind, TokenKind, Tree};

/// A part of a text that is left byte for byte.
#[derive(Debug, Clone, Copy)]
pub(super) struct Left {
    pub span: Span,
    /// Whether every block that is open where it begins or in it is closed with it, whatever its braces say.
    pub closes: bool,
}

/// The parts of a text that are left byte for byte, in order and apart.
pub(super) fn as_it_is(tree: &Tree) -> Vec<Left> {
    if tree.errors().is_empty() {
        return Vec::new();
    }
    // What was not counted may be anywhere.
    if tree.more_errors() > 0 {
        return vec![Left { span: Span::new(0, tree.text().len() as u32), closes: true }];
    }
    let nodes: Vec<(Span, NodeId)> = tree.nodes().map(|node| (tree.span(node), node)).collect();
    let whole = |error: Span, at_top: bool| {
        // Nodes stand in the order in which they begin, so that the last one that holds the fault is the innermost.
        let mut node =
            nodes[..nodes.partition_point(|(span, _)| span.start <= error.start)].last().map(|(_, node)| *node);
        while let Some(inner) = node {
            let span = tree.span(inner);
            if span.end >= error.start.max(span.start) && (!at_top || tree.parent(inner).is_none()) {
                return Span::new(span.start.min(error.start), span.end.max(error.end));
            }
            node = tree.parent(inner);
        }
        error
    };
    let kept = tree.errors().iter().map(|error| {
        // Where a brace is missing the whole of the outermost block is in doubt.
        let brace =
            matches!(error.kind, SyntaxErrorKind::Unclosed | SyntaxErrorKind::Unopened | SyntaxErrorKind::TooDeep);
        Left { span: whole(error.span, brace), closes: brace }
    });
    let mut kept: Vec<Left> = kept.collect();
    kept.sort_by_key(|left| (left.span.start, left.span.end));
    let mut apart: Vec<Left> = Vec::new();
    for left in kept {
        match apart.last_mut() {
            Some(last) if left.span.start <= last.span.end => {
                last.span.end = last.span.end.max(left.span.end);
                last.closes |= left.closes;
            }
            _ => apart.push(left),
        }
    }
    apart
}

/// Whether a text reads as a tree does: the same tokens but for white space, the same nodes below each other, the same faults.
pub(super) fn reads_alike(tree: &Tree, text: &str) -> bool {
    fn tokens(tree: &Tree) -> impl Iterator<Item = (TokenKind, &str)> {
        let all = tree.tokens().filter(|(kind, _)| !matches!(kind, TokenKind::Space | TokenKind::Newline));
        all.map(|(kind, span)| (kind, tree.text().get(span.range()).unwrap_or_default()))
    }
    fn faults(tree: &Tree) -> impl Iterator<Item = (SyntaxErrorKind, &str)> {
        tree.errors().iter().map(|error| (error.kind, &*error.message))
    }
    fn nodes(tree: &Tree) -> impl Iterator<Item = (u32, usize)> {
        tree.nodes().map(|node| (tree.depth(node), tree.entries(node).count()))
    }
    let other = Tree::parse(text);
    tokens(tree).eq(tokens(&other)) && nodes(tree).eq(nodes(&other)) && faults(tree).eq(faults(&other))
}
