//! Reading: one pass over the text, a second where braces don't match. Nothing recurses: open blocks are a list.

mod blocks;
mod entry;

use super::balance::Indents;
use super::raw::{Inner, Kept, NO_PARENT, RawNode, Str};
use super::token::{self, MAX_HASHES, Token, TokenKind, Unclosed, number};
use super::{MOST_ERRORS, SyntaxError, SyntaxErrorKind, bytes};
use crate::source::Span;

/// Reads a text.
pub(super) fn parse(text: &str) -> Inner {
    let text = cut(text, u32::MAX as usize - 1);
    let mut first = Parser::new(text, None);
    first.document();
    if first.unmatched == 0 {
        return first.inner;
    }
    // So many blocks were never closed: read again, and let indentation close them.
    let mut second = Parser::new(text, Some(Indents::new(first.unmatched)));
    second.document();
    second.inner
}

/// The text up to a length, cut at a character.
fn cut(text: &str, len: usize) -> &str {
    let mut len = len.min(text.len());
    while !text.is_char_boundary(len) {
        len -= 1;
    }
    &text[..len]
}

/// What to cut back to when something commented out ends.
#[derive(Debug, Clone, Copy)]
struct Silenced {
    from: u32,
    nodes: u32,
    entries: u32,
}

/// A node whose header is being read, or whose block is open.
#[derive(Debug, Clone, Copy)]
struct Current {
    node: u32,
    /// The indentation of the line it begins on.
    indent: usize,
    silenced: Option<Silenced>,
    has_block: bool,
    /// Whether a block has been read, a silenced one included: no entry may follow.
    past_entries: bool,
}

/// An open block: the node it belongs to, and whether the block itself is commented out.
#[derive(Debug, Clone, Copy)]
struct Frame {
    current: Current,
    silenced: Option<Silenced>,
    brace: u32,
}

/// All that reading white space changes.
#[derive(Debug, Clone, Copy)]
struct Mark {
    at: usize,
    tokens: usize,
    errors: usize,
    more_errors: usize,
    content_end: u32,
    first_on_line: bool,
    indent: usize,
}

pub(super) struct Parser<'t> {
    pub(super) text: &'t str,
    pub(super) at: usize,
    pub(super) inner: Inner,
    unclosed: Unclosed,
    frames: Vec<Frame>,
    indents: Option<Indents>,
    /// The indentation of this line so far, and whether nothing else has stood on it.
    indent: usize,
    first_on_line: bool,
    /// The end of the last token that is no white space.
    content_end: u32,
    /// Blocks still open at the text's end.
    unmatched: usize,
    /// The last error of those that are no longer kept.
    unkept: Option<SyntaxError>,
}

impl<'t> Parser<'t> {
    fn new(text: &'t str, indents: Option<Indents>) -> Parser<'t> {
        let inner = Inner {
            tokens: Vec::with_capacity(text.len() / 4 + 8),
            nodes: Vec::with_capacity(text.len() / 32 + 4),
            entries: Vec::with_capacity(text.len() / 16 + 4),
            ..Inner::default()
        };
        Parser {
            text,
            at: 0,
            inner,
            unclosed: Unclosed::default(),
            frames: Vec::new(),
            indents,
            indent: 0,
            first_on_line: true,
            content_end: 0,
            unmatched: 0,
            unkept: None,
        }
    }

    fn document(&mut self) {
        if self.text.starts_with('\u{feff}') {
            self.push(TokenKind::Bom, 3);
        }
        self.nodes();
        self.inner.text = self.text.to_owned();
        self.inner.errors.sort_by_key(|error| error.span.start);
    }

    pub(super) fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn peek_next(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at + 1).copied()
    }

    /// Takes the next `len` bytes as a token.
    pub(super) fn push(&mut self, kind: TokenKind, len: usize) -> Span {
        let start = self.at as u32;
        self.inner.tokens.push(Token { kind, start });
        self.at += len;
        match kind {
            TokenKind::Newline => (self.indent, self.first_on_line) = (0, true),
            TokenKind::Space if self.first_on_line => self.indent += len,
            TokenKind::Space | TokenKind::Bom => {}
            _ => self.first_on_line = false,
        }
        if !matches!(kind, TokenKind::Space | TokenKind::Newline) {
            self.content_end = self.at as u32;
        }
        Span::new(start, self.at as u32)
    }

    pub(super) fn error(
        &mut self,
        kind: SyntaxErrorKind,
        span: Span,
        message: impl Into<String>,
        help: Option<&str>,
    ) -> &mut SyntaxError {
        let error = SyntaxError { kind, span, message: message.into(), help: help.map(str::to_owned), fix: None };
        let at = self.inner.errors.len();
        if at >= MOST_ERRORS {
            self.inner.more_errors += 1;
            return self.unkept.insert(error);
        }
        self.inner.errors.push(error);
        &mut self.inner.errors[at]
    }

    fn forbid(&mut self, span: Span) {
        if let Some((at, c)) = token::forbidden(self.text, span.start as usize, span.end as usize) {
            let span = Span::new(at as u32, (at + c.len_utf8()) as u32);
            let message = format!("the character U+{:04X} may stand nowhere in a file", c as u32);
            self.error(SyntaxErrorKind::Malformed, span, message, Some("take it out"));
        }
    }

    /// Takes spaces and comments within a line, and line breaks taken away with `\`; says whether there were any.
    fn gap(&mut self) -> bool {
        let before = self.at;
        loop {
            match self.peek() {
                Some(b'/') if self.peek_next() == Some(b'*') => self.block_comment(),
                Some(b'\\') => match self.unclosed.line_continuation(self.text, self.at) {
                    Some(len) => {
                        let span = self.push(TokenKind::LineContinuation, len);
                        self.forbid(span);
                    }
                    None => break,
                },
                _ => match token::spaces(self.text, self.at) {
                    0 => break,
                    len => {
                        self.push(TokenKind::Space, len);
                    }
                },
            }
        }
        self.at > before
    }

    fn block_comment(&mut self) {
        match self.unclosed.block_comment(self.text, self.at) {
            Some(len) => {
                let span = self.push(TokenKind::BlockComment, len);
                self.forbid(span);
            }
            None => {
                // It costs its own line.
                let len = bytes::line_end(self.text, self.at) - self.at;
                let span = self.push(TokenKind::Bad, len);
                let open = Span::new(span.start, span.start + 2);
                self.error(SyntaxErrorKind::Unclosed, open, "the comment is not closed", Some("close it with */"));
            }
        }
    }

    fn line_comment(&mut self) {
        let len = bytes::line_end(self.text, self.at) - self.at;
        let span = self.push(TokenKind::LineComment, len);
        self.forbid(span);
    }

    /// Takes what may stand between nodes.
    fn lines(&mut self) {
        loop {
            if self.gap() {
                continue;
            }
            match self.peek() {
                Some(b'/') if self.peek_next() == Some(b'/') => self.line_comment(),
                _ => match bytes::newline_len(self.text, self.at) {
                    0 => break,
                    len => {
                        self.push(TokenKind::Newline, len);
                    }
                },
            }
        }
    }

    fn slashdash(&mut self) -> Silenced {
        let span = self.push(TokenKind::Slashdash, 2);
        Silenced { from: span.start, nodes: self.inner.nodes.len() as u32, entries: self.inner.entries.len() as u32 }
    }

    /// Drops what was read since something was commented out.
    fn silence(&mut self, silenced: Silenced) {
        self.inner.nodes.truncate(silenced.nodes as usize);
        self.inner.entries.truncate(silenced.entries as usize);
        let from = silenced.from;
        while self.inner.silenced.last().is_some_and(|inner| inner.start >= from) {
            self.inner.silenced.pop();
        }
        self.inner.silenced.push(Span::new(from, self.content_end));
    }

    /// Where the reader stands, to come back to.
    fn mark(&self) -> Mark {
        Mark {
            at: self.at,
            tokens: self.inner.tokens.len(),
            errors: self.inner.errors.len(),
            more_errors: self.inner.more_errors,
            content_end: self.content_end,
            first_on_line: self.first_on_line,
            indent: self.indent,
        }
    }

    /// Goes back to where the reader stood, as if nothing had been read since.
    fn back(&mut self, mark: Mark) {
        self.at = mark.at;
        self.inner.tokens.truncate(mark.tokens);
        self.inner.errors.truncate(mark.errors);
        self.inner.more_errors = mark.more_errors;
        self.content_end = mark.content_end;
        (self.first_on_line, self.indent) = (mark.first_on_line, mark.indent);
    }

    /// Reads nodes until the text ends.
    fn nodes(&mut self) {
        loop {
            self.lines();
            match self.peek() {
                None => break,
                Some(b'}') => self.close_by_brace(),
                Some(b'/') if self.peek_next() == Some(b'-') => {
                    let silenced = self.slashdash();
                    self.lines();
                    if self.starts_node() {
                        self.node(Some(silenced));
                    } else {
                        let span = Span::new(silenced.from, silenced.from + 2);
                        self.error(
                            SyntaxErrorKind::Unexpected,
                            span,
                            "`/-` comments nothing out here",
                            Some("take it out"),
                        );
                    }
                }
                Some(_) if self.starts_node() => self.node(None),
                Some(_) => self.unexpected("a node's name is expected here"),
            }
        }
        self.unmatched = self.frames.len();
        while let Some(frame) = self.frames.last().copied() {
            self.unclosed_block(&frame);
            self.close(self.content_end);
        }
    }

    fn unclosed_block(&mut self, frame: &Frame) {
        let name = self.inner.nodes.get(frame.current.node as usize).map(|node| node.name.span);
        let name = name.map_or("", |span| &self.text[span.range()]);
        let message = format!("the block of `{name}` is not closed");
        let brace = Span::new(frame.brace, frame.brace + 1);
        self.error(SyntaxErrorKind::Unclosed, brace, message, Some("close it with } on a line of its own"));
    }

    fn starts_node(&self) -> bool {
        match self.peek() {
            Some(b'(' | b'"') => true,
            Some(b'#') => self.raw_string_hashes().is_some(),
            Some(_) => bytes::ident_len(self.text, self.at) > 0,
            None => false,
        }
    }

    /// How many `#` open a raw string here, if they do.
    fn raw_string_hashes(&self) -> Option<usize> {
        let hashes =
            self.text.as_bytes()[self.at..].iter().take(MAX_HASHES + 1).take_while(|byte| **byte == b'#').count();
        let quote = self.text.as_bytes().get(self.at + hashes) == Some(&b'"');
        (hashes > 0 && hashes <= MAX_HASHES && quote).then_some(hashes)
    }

    /// Takes what can't stand here, up to the next thing that could.
    fn unexpected(&mut self, message: &str) {
        let start = self.at;
        loop {
            match self.peek() {
                None | Some(b'"' | b'{' | b'}' | b';') => break,
                Some(_) if bytes::space_len(self.text, self.at) + bytes::newline_len(self.text, self.at) > 0 => break,
                Some(b'(') if self.at > start => break,
                Some(_) => self.at += bytes::char_at(self.text, self.at).map_or(1, char::len_utf8),
            }
        }
        if self.at == start {
            self.at += bytes::char_at(self.text, self.at).map_or(1, char::len_utf8);
        }
        let len = self.at - start;
        self.at = start;
        let span = self.push(TokenKind::Bad, len);
        if token::forbidden(self.text, start, start + len).is_some() {
            self.forbid(span);
        } else {
            self.error(SyntaxErrorKind::Unexpected, span, message, Some("take it out"));
        }
    }

    /// Reads a node from its annotation or name on.
    fn node(&mut self, silenced: Option<Silenced>) {
        self.close_by_indentation();
        // A block that is closed only now may itself be commented out, and what it held is gone.
        let (nodes, entries) = (self.inner.nodes.len() as u32, self.inner.entries.len() as u32);
        let silenced = silenced.map(|silenced| Silenced { nodes, entries, ..silenced });
        let indent = self.indent;
        let annotation = self.annotation();
        self.gap_behind_annotation(annotation.is_some());
        let before = self.at as u32;
        let name = match self.string() {
            Some((name, _)) => name,
            None => {
                let here = Span::at(before);
                self.error(
                    SyntaxErrorKind::Unexpected,
                    here,
                    "a node's name is missing here",
                    Some("write the node's name"),
                );
                Str { span: here, inside: here, decoded: false }
            }
        };
        let parent = self.frames.last().map(|frame| frame.current.node);
        let depth = parent.map_or(0, |parent| self.inner.nodes[parent as usize].depth + 1);
        let entries = self.inner.entries.len() as u32;
        let node = self.inner.nodes.len() as u32;
        self.inner.nodes.push(RawNode {
            parent: parent.unwrap_or(NO_PARENT),
            depth,
            subtree: node + 1,
            entries: (entries, entries),
            annotation,
            name,
            header_end: name.span.end.max(annotation.map_or(0, |(_, span)| span.end)),
            terminator: self.at as u32,
            block: None,
        });
        self.header(Current { node, indent, silenced, has_block: false, past_entries: false });
    }

    /// Reads on in a node's header, from behind its name or a block.
    fn header(&mut self, mut current: Current) {
        loop {
            let spaced = self.gap();
            match self.peek() {
                None => break,
                Some(b';') => break,
                Some(b'}') => break,
                Some(b'/') if self.peek_next() == Some(b'/') => break,
                Some(b'{') => {
                    if current.has_block {
                        let span = Span::new(self.at as u32, self.at as u32 + 1);
                        self.error(
                            SyntaxErrorKind::Unexpected,
                            span,
                            "a node has one block",
                            Some("put all of it in one"),
                        );
                    }
                    (current.has_block, current.past_entries) = (true, true);
                    if self.open(current, None) {
                        return;
                    }
                }
                Some(b'/') if self.peek_next() == Some(b'-') => {
                    let silenced = self.slashdash();
                    self.lines();
                    match self.peek() {
                        Some(b'{') => {
                            current.past_entries = true;
                            if self.open(current, Some(silenced)) {
                                return;
                            }
                            self.silence(silenced);
                        }
                        _ if !current.past_entries && self.starts_entry() => {
                            self.entry(current.node, spaced);
                            self.silence(silenced);
                        }
                        _ => {
                            let span = Span::new(silenced.from, silenced.from + 2);
                            self.error(
                                SyntaxErrorKind::Unexpected,
                                span,
                                "`/-` comments nothing out here",
                                Some("take it out"),
                            );
                        }
                    }
                }
                Some(_) if bytes::newline_len(self.text, self.at) > 0 => break,
                Some(_) if self.starts_entry() && current.past_entries => {
                    let span = Span::at(self.at as u32);
                    let help = Some("begin a new line, or put it before the block");
                    self.error(
                        SyntaxErrorKind::Unexpected,
                        span,
                        "nothing more of this node can stand behind its block",
                        help,
                    );
                    self.terminate(current);
                    return;
                }
                Some(_) if self.starts_entry() => {
                    self.entry(current.node, spaced);
                    let node = &mut self.inner.nodes[current.node as usize];
                    node.entries.1 = self.inner.entries.len() as u32;
                    node.header_end = self.inner.entries.last().map_or(node.header_end, |entry| entry.value_span.end);
                }
                Some(_) => self.unexpected("an argument, a property or a block is expected here"),
            }
        }
        self.terminate(current);
        match self.peek() {
            Some(b';') => {
                self.push(TokenKind::Semicolon, 1);
            }
            Some(b'/') => self.line_comment(),
            _ => {}
        }
    }
}

/// Whether a word is a number and takes part in arithmetic.
pub(super) fn is_number(word: &str) -> Option<Kept> {
    number(word).map(|whole| if whole { Kept::Integer } else { Kept::Float })
}
