//! The `kdl` crate's own document of a tree, with spans and formats.
//!
//! What the crate's parser makes of white space is kept to the letter, since equality of its documents looks at it:
//! the first node's leading text is the node's and not the document's, a line comment and its line break are a
//! terminator, and behind a closing brace white space and what follows it are in no format at all.

use kdl::{KdlDocument, KdlDocumentFormat, KdlEntry, KdlEntryFormat, KdlIdentifier, KdlNode, KdlNodeFormat, KdlValue};

use super::bytes::{line_end, newline_len};
use super::raw::{RawEntry, RawNode, Str};
use super::token::TokenKind;
use super::{EntryId, SyntaxError, Tree, Value};
use crate::source::Span;

/// The nodes of a block, or of the document, while they are made.
struct Level {
    nodes: Vec<KdlNode>,
    /// Where text begins that no node has taken yet.
    at: u32,
    /// Where the first node starts and the last ends.
    span: Span,
}

impl Level {
    fn new(at: u32) -> Level {
        Level { nodes: Vec::new(), at, span: Span::at(at) }
    }
}

impl Tree {
    /// The `kdl` crate's own document, with spans and formats.
    ///
    /// # Errors
    /// The tree's errors, if it has any.
    pub fn to_kdl(&self) -> Result<KdlDocument, &[SyntaxError]> {
        if !self.errors().is_empty() {
            return Err(self.errors());
        }
        let text = self.text();
        let bom = if text.starts_with('\u{feff}') { 3 } else { 0 };
        let mut levels = vec![Level::new(bom)];
        // Nodes begun and not ended: what stands below them comes between.
        let mut begun: Vec<(KdlNode, u32)> = Vec::new();
        for (index, raw) in self.inner.nodes.iter().enumerate() {
            while let Some((node, at)) = begun.pop_if(|(_, at)| self.raw(*at).subtree <= index as u32) {
                self.end(node, self.raw(at), &mut levels);
            }
            let from = levels.last().map_or(0, |level| level.at);
            begun.push((self.begin(raw, from), index as u32));
            if let Some(block) = raw.block {
                levels.push(Level::new(block.start + 1));
            }
        }
        while let Some((node, at)) = begun.pop() {
            self.end(node, self.raw(at), &mut levels);
        }
        let level = levels.pop().unwrap_or_else(|| Level::new(bom));
        let mut document = self.document(level, text.len() as u32);
        if let Some(format) = document.format_mut().filter(|_| bom > 0) {
            format.leading.insert(0, '\u{feff}');
        }
        Ok(document)
    }

    fn raw(&self, node: u32) -> &RawNode {
        &self.inner.nodes[node as usize]
    }

    fn slice(&self, from: u32, to: u32) -> String {
        self.text().get(from as usize..to as usize).unwrap_or_default().to_owned()
    }

    fn identifier(&self, str: &Str) -> KdlIdentifier {
        let mut identifier = KdlIdentifier::from(self.str(str).into_owned());
        identifier.set_repr(self.slice(str.span.start, str.span.end));
        identifier.set_span(str.span.range());
        identifier
    }

    /// A node up to its block, with the text before it from `from` on.
    fn begin(&self, raw: &RawNode, from: u32) -> KdlNode {
        let mut node = KdlNode::new(self.identifier(&raw.name));
        let mut format = KdlNodeFormat { leading: self.slice(from, raw.start()), ..KdlNodeFormat::default() };
        if let Some((name, span)) = &raw.annotation {
            format.before_ty_name = self.slice(span.start + 1, name.span.start);
            format.after_ty_name = self.slice(name.span.end, span.end - 1);
            format.after_ty = self.slice(span.end, raw.name.span.start);
            node.set_ty(self.identifier(name));
        }
        let mut at = raw.name.span.end;
        let (first, last) = raw.entries;
        let entries = node.entries_mut();
        entries.reserve_exact((last - first) as usize);
        for index in first..last {
            let entry = &self.inner.entries[index as usize];
            entries.push(self.kdl_entry(entry, EntryId(index), at));
            at = entry.value_span.end;
        }
        if let Some(block) = raw.block {
            format.before_children = self.slice(at, block.start);
        } else {
            format.before_terminator = self.slice(at, raw.terminator);
        }
        node.set_format(format);
        node
    }

    fn kdl_entry(&self, raw: &RawEntry, id: EntryId, from: u32) -> KdlEntry {
        let mut entry = KdlEntry::new(match self.entry(id).value {
            Value::Text(text) => KdlValue::String(text.into_owned()),
            Value::Integer(integer) => KdlValue::Integer(integer),
            Value::Float(float) => KdlValue::Float(float),
            Value::Bool(bool) => KdlValue::Bool(bool),
            Value::Null | Value::Bad(_) => KdlValue::Null,
        });
        let value = raw.value_span;
        let mut format = KdlEntryFormat {
            value_repr: self.slice(value.start, value.end),
            leading: self.slice(from, raw.start),
            ..KdlEntryFormat::default()
        };
        if let Some((name, span)) = &raw.annotation {
            format.before_ty_name = self.slice(span.start + 1, name.span.start);
            format.after_ty_name = self.slice(name.span.end, span.end - 1);
            format.after_ty = self.slice(span.end, value.start);
            entry.set_ty(self.identifier(name));
        }
        if let Some(key) = &raw.key {
            let equals = self.equals_behind(key.span.end);
            let value = raw.annotation.as_ref().map_or(value.start, |(_, span)| span.start);
            format.after_key = self.slice(key.span.end, equals);
            format.after_eq = self.slice(equals + 1, value);
            entry.set_name(Some(self.identifier(key)));
        }
        entry.set_format(format);
        entry.set_span(Span::new(raw.start, value.end).range());
        entry
    }

    /// Where the `=` of a property stands whose name ends at `at`.
    fn equals_behind(&self, at: u32) -> u32 {
        if self.text().as_bytes().get(at as usize) == Some(&b'=') {
            return at;
        }
        let tokens = &self.inner.tokens;
        let from = tokens.partition_point(|token| token.start < at);
        tokens[from..].iter().find(|token| token.kind == TokenKind::Equals).map_or(at, |token| token.start)
    }

    /// Behind a closing brace: where the last block commented out ends, and where the node does, white space and all.
    fn behind_block(&self, at: u32) -> (u32, u32) {
        let tokens = &self.inner.tokens;
        let mut index = tokens.partition_point(|token| token.start < at);
        let mut blocks_end = at;
        loop {
            match tokens.get(index).map(|token| (token.kind, token.start)) {
                Some((TokenKind::Space | TokenKind::BlockComment | TokenKind::LineContinuation, _)) => index += 1,
                Some((TokenKind::Slashdash, start)) => {
                    let silenced = &self.inner.silenced;
                    let found = silenced.get(silenced.partition_point(|span| span.start < start));
                    blocks_end = found.map_or(start, |span| span.end);
                    index = tokens.partition_point(|token| token.start < blocks_end);
                    if found.is_none_or(|span| span.start != start) {
                        return (blocks_end, start);
                    }
                }
                Some((_, start)) => return (blocks_end, start),
                None => return (blocks_end, self.text().len() as u32),
            }
        }
    }

    /// Ends a node: its block, if any, is the innermost level, and it goes into the one above.
    fn end(&self, mut node: KdlNode, raw: &RawNode, levels: &mut Vec<Level>) {
        let mut end = raw.terminator;
        let mut behind_block = None;
        if let Some(block) = raw.block {
            if let Some(level) = levels.pop() {
                node.set_children(self.document(level, block.end - 1));
            }
            let blocks_end;
            (blocks_end, end) = self.behind_block(block.end);
            behind_block = Some((block.end, blocks_end));
        }
        let text = self.text();
        let terminator = match text.as_bytes().get(end as usize) {
            Some(b';') => 1,
            Some(b'/') => {
                let line = line_end(text, end as usize);
                line + newline_len(text, line) - end as usize
            }
            _ => newline_len(text, end as usize),
        } as u32;
        if let Some(format) = node.format_mut() {
            if let Some((from, to)) = behind_block {
                format.before_terminator = self.slice(from, to);
            }
            if behind_block.is_none_or(|(_, blocks_end)| blocks_end == end) {
                format.terminator = self.slice(end, end + terminator);
            }
        }
        node.set_span(Span::new(raw.start(), end).range());
        if let Some(level) = levels.last_mut() {
            let first = if level.nodes.is_empty() { raw.start() } else { level.span.start };
            level.span = Span::new(first, end);
            level.at = end + terminator;
            level.nodes.push(node);
        }
    }

    /// The document of a level that ends at `end`.
    fn document(&self, level: Level, end: u32) -> KdlDocument {
        let rest = self.slice(level.at, end);
        let empty = level.nodes.is_empty();
        let (leading, trailing) = if empty { (rest, String::new()) } else { (String::new(), rest) };
        let mut document = KdlDocument::new();
        *document.nodes_mut() = level.nodes;
        document.set_format(KdlDocumentFormat { leading, trailing });
        document.set_span(if empty { Span::at(end) } else { level.span }.range());
        document
    }
}
