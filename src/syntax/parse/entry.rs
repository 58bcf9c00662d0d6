//! Entries: annotations, names, values and strings.

use super::Parser;
use crate::source::Span;
use crate::syntax::raw::{Kept, RawEntry, Str};
use crate::syntax::string::{Defect, multi_line, unescape};
use crate::syntax::token::{self, TokenKind};
use crate::syntax::{SyntaxErrorKind, bytes, words};

impl Parser<'_> {
    pub(super) fn starts_entry(&self) -> bool {
        match self.peek() {
            Some(b'(' | b'"' | b'#' | b'=') => true,
            Some(_) => bytes::ident_len(self.text, self.at) > 0,
            None => false,
        }
    }

    /// Reads an argument or a property.
    pub(super) fn entry(&mut self, node: u32, spaced: bool) {
        let start = self.at as u32;
        // What takes an entry out needs no space before it.
        let taken_out =
            || self.text.get(..self.at).is_some_and(|before| before.trim_end_matches([' ', '\t']).ends_with("/-"));
        if !spaced && self.peek() != Some(b'=') && !taken_out() {
            let at = Span::at(start);
            let error = self.error(SyntaxErrorKind::Unexpected, at, "a space is missing here", Some("put one"));
            error.fix = Some(("put a space".to_owned(), vec![(at, " ".to_owned())]));
        }
        let annotation = self.annotation();
        self.gap_behind_annotation(annotation.is_some());
        let (kept, span) = self.value();
        let is_name = matches!(kept, Kept::Str(_)) || self.peek() == Some(b'=') || span.is_empty();
        let mark = self.mark();
        self.gap();
        if self.peek() != Some(b'=') || !is_name && !matches!(kept, Kept::Bad | Kept::Integer | Kept::Float) {
            self.back(mark);
            self.inner.entries.push(RawEntry { node, key: None, annotation, kept, value_span: span, start });
            return;
        }
        self.push(TokenKind::Equals, 1);
        let key = match kept {
            Kept::Str(key) => key,
            _ => {
                let message = if span.is_empty() {
                    "a property's name is missing here"
                } else {
                    "this can't be a property's name"
                };
                self.error(SyntaxErrorKind::Unexpected, span, message, Some("write a word before the ="));
                Str { span, inside: span, decoded: false }
            }
        };
        if let Some((_, at)) = annotation {
            let help = Some("put it behind the =, before the value");
            self.error(
                SyntaxErrorKind::Unexpected,
                at,
                "an annotation stands before the value, not before the property",
                help,
            );
        }
        self.property(node, start, key);
    }

    pub(super) fn property(&mut self, node: u32, start: u32, key: Str) {
        let mark = self.mark();
        self.gap();
        let annotation = self.annotation();
        self.gap_behind_annotation(annotation.is_some());
        let (kept, span) = if self.starts_entry() && self.peek() != Some(b'=') {
            self.value()
        } else {
            if annotation.is_none() {
                self.back(mark);
            }
            let name = &self.text[key.span.range()];
            let message = format!("the value of `{name}` is missing");
            self.error(SyntaxErrorKind::Unexpected, Span::at(self.at as u32), message, Some("write it behind the ="));
            (Kept::Bad, Span::at(self.at as u32))
        };
        self.inner.entries.push(RawEntry { node, key: Some(key), annotation, kept, value_span: span, start });
    }

    pub(super) fn gap_behind_annotation(&mut self, annotated: bool) {
        if annotated {
            self.gap();
        }
    }

    /// Reads `(type)`, if one stands here.
    pub(super) fn annotation(&mut self) -> Option<(Str, Span)> {
        if self.peek() != Some(b'(') {
            return None;
        }
        let open = self.push(TokenKind::OpenParen, 1);
        self.gap();
        let inside = self.string();
        self.gap();
        let end = if self.peek() == Some(b')') {
            self.push(TokenKind::CloseParen, 1).end
        } else {
            self.error(SyntaxErrorKind::Unclosed, open, "the annotation is not closed", Some("close it with )"));
            self.at as u32
        };
        let span = Span::new(open.start, end);
        let Some((name, _)) = inside else {
            self.error(
                SyntaxErrorKind::Unexpected,
                span,
                "an annotation is a word in parentheses",
                Some("write the word"),
            );
            return None;
        };
        Some((name, span))
    }

    /// Reads a string of any form, or a word that can be a name, if one stands here.
    pub(super) fn string(&mut self) -> Option<(Str, Span)> {
        let at = self.at as u32;
        match self.peek() {
            Some(b'"') => {
                let str = self.quoted(0);
                Some((str, str.span))
            }
            Some(b'#') => {
                let hashes = self.raw_string_hashes()?;
                let str = self.quoted(hashes);
                Some((str, str.span))
            }
            Some(_) => {
                let len = token::word(self.text, self.at);
                if len == 0 {
                    return None;
                }
                let (kept, span) = words::bare(self, len);
                match kept {
                    Kept::Str(str) => Some((str, span)),
                    _ => {
                        // A number, or what is no word: it is taken for the name it stands in the place of.
                        if self.inner.errors.last().is_none_or(|error| error.span.start != at) {
                            self.error(
                                SyntaxErrorKind::Malformed,
                                span,
                                "a name is a word, not a number",
                                Some("quote it"),
                            );
                        }
                        Some((Str { span, inside: span, decoded: false }, span))
                    }
                }
            }
            None => None,
        }
    }

    /// Reads a value of any kind.
    pub(super) fn value(&mut self) -> (Kept, Span) {
        match self.peek() {
            Some(b'"') => {
                let str = self.quoted(0);
                (Kept::Str(str), str.span)
            }
            Some(b'#') => self.hashed(),
            Some(b'=') => (Kept::Bad, Span::at(self.at as u32)),
            _ => match token::word(self.text, self.at) {
                0 => {
                    let here = Span::at(self.at as u32);
                    self.error(SyntaxErrorKind::Unexpected, here, "a value is missing here", Some("write it"));
                    (Kept::Bad, here)
                }
                len => words::bare(self, len),
            },
        }
    }

    /// Reads a keyword or a raw string.
    pub(super) fn hashed(&mut self) -> (Kept, Span) {
        if let Some(hashes) = self.raw_string_hashes() {
            let str = self.quoted(hashes);
            return (Kept::Str(str), str.span);
        }
        let hashes = self.text.as_bytes()[self.at..].iter().take_while(|byte| **byte == b'#').count();
        let len = hashes + token::word(self.text, self.at + hashes);
        let (kind, kept) = match &self.text[self.at..self.at + len] {
            "#true" => (TokenKind::Keyword, Kept::True),
            "#false" => (TokenKind::Keyword, Kept::False),
            "#null" => (TokenKind::Keyword, Kept::Null),
            "#inf" | "#-inf" | "#nan" => (TokenKind::Number, Kept::Float),
            _ => (TokenKind::Bad, Kept::Bad),
        };
        let span = self.push(kind, len);
        if kind == TokenKind::Bad {
            let help = Some("there are #true, #false, #null, #inf, #-inf and #nan");
            self.error(SyntaxErrorKind::Malformed, span, "there is no such keyword", help);
        }
        (kept, span)
    }

    pub(super) fn quoted(&mut self, hashes: usize) -> Str {
        let mut quotes = self.unclosed.quotes(self.text, self.at, hashes);
        let from = self.at + quotes.open;
        if !quotes.closed {
            // A brace that ends the line opens a block, or the whole block would be lost for want of a quote.
            let line = self.text[from..self.at + quotes.len].trim_end();
            if let Some(word) = line.strip_suffix('{').filter(|word| word.ends_with([' ', '\t'])) {
                quotes.len = quotes.open + word.trim_end().len();
            }
        }
        let inside = (from, from + quotes.inside);
        let span = self.push(if quotes.closed { TokenKind::Quoted } else { TokenKind::Bad }, quotes.len);
        if !quotes.closed {
            let quote = Span::new(span.start, (inside.0 as u32).min(span.end));
            self.error(SyntaxErrorKind::Unclosed, quote, "the quotes are not closed", Some("close them on this line"));
            return Str { span, inside: Span::new(inside.0 as u32, span.end), decoded: false };
        }
        self.forbid(span);
        let mut said: Vec<Defect> = Vec::new();
        let decoded = if quotes.multi {
            Some(multi_line(self.text, inside.0, inside.1, hashes > 0, &mut said))
        } else if quotes.escapes {
            Some(unescape(self.text, inside.0, inside.1, &mut said))
        } else {
            None
        };
        for (from, to, what) in said {
            self.error(SyntaxErrorKind::Malformed, Span::new(from as u32, to as u32), what, None);
        }
        match decoded {
            Some(decoded) => {
                let index = self.inner.decoded.len() as u32;
                self.inner.decoded.push(decoded);
                Str { span, inside: Span::at(index), decoded: true }
            }
            None => Str { span, inside: Span::new(inside.0 as u32, inside.1 as u32), decoded: false },
        }
    }
}
