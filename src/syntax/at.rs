//! What stands at an offset.

use super::token::TokenKind;
use super::{At, NodeId, Part, Tree};
use crate::source::Span;

impl Tree {
    /// What stands at an offset: what a cursor there is on, or in.
    pub fn at(&self, offset: u32) -> At {
        if let Some(span) = self.comment_at(offset) {
            return At { node: self.around(offset), part: Part::Comment, span };
        }
        let mut node = self.last_before(offset);
        while let Some(this) = node {
            let name = self.name(this).span;
            let header_reaches = offset <= self.terminator(this) || name.touches(offset);
            if header_reaches && offset <= self.terminator(this).max(self.header_span(this).end) {
                return self.in_header(this, offset);
            }
            if let Some(block) = self.block_span(this)
                && block.start < offset
                && (offset < block.end || !self.is_closed(block) && offset <= block.end)
            {
                return At { node: Some(this), part: Part::Block, span: Span::at(offset) };
            }
            node = self.parent(this);
        }
        At { node: None, part: Part::Block, span: Span::at(offset) }
    }

    /// The innermost node whose header or block holds an offset.
    fn around(&self, offset: u32) -> Option<NodeId> {
        let mut node = self.last_before(offset);
        while let Some(this) = node {
            if self.span(this).contains(Span::at(offset)) {
                return Some(this);
            }
            node = self.parent(this);
        }
        None
    }

    fn is_closed(&self, block: Span) -> bool {
        block.end > block.start + 1 && self.text().as_bytes().get(block.end as usize - 1) == Some(&b'}')
    }

    /// The last node that starts at or before an offset.
    fn last_before(&self, offset: u32) -> Option<NodeId> {
        let count = self.inner.nodes.partition_point(|node| node.start() <= offset);
        count.checked_sub(1).map(|index| NodeId(index as u32))
    }

    /// The comment, or what is commented out, that holds an offset.
    fn comment_at(&self, offset: u32) -> Option<Span> {
        let silenced = self.silenced();
        let index = silenced.partition_point(|span| span.end <= offset);
        if let Some(span) = silenced.get(index).filter(|span| span.start < offset) {
            return Some(*span);
        }
        // A line comment goes on where its line ends.
        let holds = |(kind, span): &(TokenKind, Span)| match kind {
            TokenKind::LineComment => span.start < offset && offset <= span.end,
            TokenKind::BlockComment => span.start < offset && offset < span.end,
            _ => false,
        };
        let before = offset.checked_sub(1).and_then(|before| self.token_at(before)).filter(holds);
        before.or_else(|| self.token_at(offset).filter(holds)).map(|(_, span)| span)
    }

    fn in_header(&self, node: NodeId, offset: u32) -> At {
        let at = |part, span| At { node: Some(node), part, span };
        if let Some(annotation) = self.annotation(node)
            && annotation.span.start < offset
            && offset < annotation.span.end
        {
            return at(Part::Annotation(None), annotation.span);
        }
        let name = self.name(node).span;
        if name.touches(offset) {
            return at(Part::Name, name);
        }
        // The entry that starts last before the offset is the one that can hold it; the one before may touch it too.
        let (from, to) = self.inner.nodes[node.0 as usize].entries;
        let entries = &self.inner.entries[from as usize..to as usize];
        let count = entries.partition_point(|entry| entry.start <= offset);
        let Some(index) = count.checked_sub(1) else { return at(Part::Header, Span::at(offset)) };
        let id = super::EntryId(from + index as u32);
        let entry = self.entry(id);
        if let Some(annotation) = &entry.annotation
            && annotation.span.start < offset
            && offset < annotation.span.end
        {
            return at(Part::Annotation(Some(id)), annotation.span);
        }
        if entry.value_span.touches(offset) {
            return at(Part::Value(id), entry.value_span);
        }
        match &entry.key {
            Some(key) if key.span.touches(offset) => at(Part::Key(id), key.span),
            Some(key) if key.span.end < offset && offset < entry.value_span.start => {
                at(Part::Value(id), entry.value_span)
            }
            _ => at(Part::Header, Span::at(offset)),
        }
    }
}
