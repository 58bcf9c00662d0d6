//! Blocks: opening and closing them, by their braces or by how lines are indented.

use super::{Current, Frame, Parser, Silenced};
use crate::source::Span;
use crate::syntax::token::TokenKind;
use crate::syntax::{MAX_DEPTH, SyntaxErrorKind, bytes};

impl Parser<'_> {
    /// Ends a node whose header, and block if any, have been read.
    pub(super) fn terminate(&mut self, current: Current) {
        let count = self.inner.nodes.len() as u32;
        let node = &mut self.inner.nodes[current.node as usize];
        if node.block.is_none() {
            node.terminator = self.at as u32;
        }
        node.subtree = count;
        if let Some(silenced) = current.silenced {
            self.silence(silenced);
        }
    }

    /// Opens a block; says whether it did, and not skipped one that lies too deep.
    pub(super) fn open(&mut self, current: Current, silenced: Option<Silenced>) -> bool {
        if self.frames.len() as u32 >= MAX_DEPTH {
            self.skip_block();
            return false;
        }
        let brace = self.push(TokenKind::OpenBrace, 1);
        let node = &mut self.inner.nodes[current.node as usize];
        if silenced.is_none() && node.block.is_none() {
            node.block = Some(brace);
            node.terminator = brace.start;
        }
        if let Some(indents) = &mut self.indents {
            indents.open(current.indent);
        }
        self.frames.push(Frame { current, silenced, brace: brace.start });
        true
    }

    /// Takes a block that lies too deep as one bad token, whatever is in it.
    pub(super) fn skip_block(&mut self) {
        let (start, mut depth) = (self.at, 0u32);
        loop {
            match self.peek() {
                None => break,
                Some(b'{') => (self.at, depth) = (self.at + 1, depth + 1),
                Some(b'}') => {
                    (self.at, depth) = (self.at + 1, depth - 1);
                    if depth == 0 {
                        break;
                    }
                }
                Some(b'"') => self.at += self.unclosed.quotes(self.text, self.at, 0).len,
                Some(b'#') if self.raw_string_hashes().is_some() => {
                    let hashes = self.raw_string_hashes().unwrap_or(1);
                    self.at += self.unclosed.quotes(self.text, self.at, hashes).len;
                }
                Some(b'/') if self.peek_next() == Some(b'/') => self.at = bytes::line_end(self.text, self.at),
                Some(b'/') if self.peek_next() == Some(b'*') => {
                    self.at += self.unclosed.block_comment(self.text, self.at).unwrap_or(2);
                }
                Some(_) => self.at += 1,
            }
        }
        while !self.text.is_char_boundary(self.at) {
            self.at += 1;
        }
        let len = self.at - start;
        self.at = start;
        let span = self.push(TokenKind::Bad, len);
        let message = format!("blocks are nested more than {MAX_DEPTH} deep: what is in here is not read");
        self.error(SyntaxErrorKind::TooDeep, span, message, None);
    }

    pub(super) fn close_by_brace(&mut self) {
        if let Some(indents) = self.indents.as_mut().filter(|_| self.first_on_line) {
            let closes = indents.before_brace(self.indent);
            self.close_unclosed(closes);
        }
        if self.frames.is_empty() {
            let span = self.push(TokenKind::Bad, 1);
            self.error(SyntaxErrorKind::Unopened, span, "this closes nothing", Some("take it out"));
            return;
        }
        let span = self.push(TokenKind::CloseBrace, 1);
        self.close(span.end);
    }

    /// Before a node: closes the blocks that its indentation says were meant to end.
    pub(super) fn close_by_indentation(&mut self) {
        // Only what begins a line says anything by its indentation.
        if let Some(indents) = self.indents.as_mut().filter(|_| self.first_on_line) {
            let closes = indents.before_node(self.indent);
            self.close_unclosed(closes);
        }
    }

    pub(super) fn close_unclosed(&mut self, closes: usize) {
        for _ in 0..closes {
            let Some(frame) = self.frames.last().copied() else { break };
            self.unclosed_block(&frame);
            self.close(self.content_end);
        }
    }

    /// Closes the innermost block and reads on in its node's header, if the line goes on.
    pub(super) fn close(&mut self, end: u32) {
        let Some(frame) = self.frames.pop() else { return };
        if let Some(indents) = &mut self.indents {
            indents.close();
        }
        let Frame { current, silenced, brace } = frame;
        match silenced {
            Some(silenced) => self.silence(silenced),
            None => {
                let count = self.inner.nodes.len() as u32;
                let node = &mut self.inner.nodes[current.node as usize];
                node.subtree = count;
                if node.block.is_some_and(|block| block.start == brace) {
                    node.block = Some(Span::new(brace, end));
                }
            }
        }
        if self.at as u32 == end {
            self.header(current);
        } else {
            self.terminate(current);
        }
    }
}
