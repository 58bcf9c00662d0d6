//! Tokens: the pieces that tile a text, and how long each is.

use super::bytes::{
    FORBIDDEN, IDENT, NEWLINE, WIDE, char_at, ident_len, is, is_forbidden, line_end, newline_len, space_len,
};

/// The kinds of token.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TokenKind {
    /// The byte-order mark at the start of a text.
    Bom,
    /// Spaces within a line.
    Space,
    /// One line break.
    Newline,
    /// `//` to the end of the line.
    LineComment,
    /// `/* … */`.
    BlockComment,
    /// `/-`, which comments out what follows.
    Slashdash,
    /// `\` and the line break it takes away, comments between them included.
    LineContinuation,
    /// An identifier.
    Word,
    /// A string in quotes of any form.
    Quoted,
    /// A number, `#inf` and its like included.
    Number,
    /// `#true`, `#false`, `#null`.
    Keyword,
    /// `=`.
    Equals,
    /// `(`.
    OpenParen,
    /// `)`.
    CloseParen,
    /// `{`.
    OpenBrace,
    /// `}`.
    CloseBrace,
    /// `;`.
    Semicolon,
    /// What belongs to no token of the language; an error says why.
    Bad,
}

/// A piece of the text: from its start to the next token's start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// First byte.
    pub start: u32,
}

/// Length of a run of spaces.
pub(super) fn spaces(text: &str, from: usize) -> usize {
    let mut at = from;
    loop {
        let len = space_len(text, at);
        if len == 0 {
            return at - from;
        }
        at += len;
    }
}

/// Length of a run of identifier characters.
pub(super) fn word(text: &str, from: usize) -> usize {
    let bytes = text.as_bytes();
    let mut at = from;
    while let Some(byte) = bytes.get(at) {
        if is(*byte, WIDE) {
            match ident_len(text, at) {
                0 => break,
                len => at += len,
            }
        } else if is(*byte, IDENT) {
            at += 1;
        } else {
            break;
        }
    }
    at - from
}

/// Length of a `/* … */`, nested ones included. If it is not closed, those that are and that begin in what would be its
/// inside: where each begins and how long it is, in order.
fn block_comment(text: &str, from: usize) -> Result<usize, Vec<(usize, usize)>> {
    let bytes = text.as_bytes();
    let (mut at, mut open, mut closed) = (from + 2, vec![from], Vec::new());
    while let Some(innermost) = open.last().copied() {
        match (bytes.get(at), bytes.get(at + 1)) {
            (None, _) => {
                closed.sort_unstable();
                return Err(closed);
            }
            (Some(b'/'), Some(b'*')) => {
                open.push(at);
                at += 2;
            }
            (Some(b'*'), Some(b'/')) => {
                open.pop();
                at += 2;
                closed.push((innermost, at - innermost));
            }
            _ => at += 1,
        }
    }
    Ok(at - from)
}

/// Where a string in quotes ends, and where its inside lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Quotes {
    /// Bytes from the first quote or `#` to behind the last.
    pub len: usize,
    /// Offset of the inside from the start.
    pub open: usize,
    /// Length of the inside.
    pub inside: usize,
    /// Whether it holds a backslash that escapes.
    pub escapes: bool,
    /// Whether it is in three quotes.
    pub multi: bool,
    /// Whether it is closed.
    pub closed: bool,
}

/// What is known of the text beyond an unclosed `"""` or `/*`, so that an unclosed one is looked for once: that it holds
/// no closing quotes, and which comments in it are closed.
#[derive(Debug, Default)]
pub(super) struct Unclosed {
    triple: Option<usize>,
    raw_triple: Vec<(usize, usize)>,
    comment: Option<(usize, Vec<(usize, usize)>)>,
}

/// The greatest number of `#` that a raw string may have.
pub(super) const MAX_HASHES: usize = 255;

impl Unclosed {
    /// A `/* … */`; `None` if it is not closed.
    pub(super) fn block_comment(&mut self, text: &str, from: usize) -> Option<usize> {
        if let Some((_, closed)) = self.comment.as_ref().filter(|(known, _)| from >= *known) {
            let index = closed.binary_search_by_key(&from, |(begin, _)| *begin).ok()?;
            return closed.get(index).map(|(_, len)| *len);
        }
        match block_comment(text, from) {
            Ok(len) => Some(len),
            Err(closed) => {
                self.comment = Some((from, closed));
                None
            }
        }
    }

    /// Length of a `\` that takes a line break away, with what may stand between; `None` if something else follows.
    pub(super) fn line_continuation(&mut self, text: &str, from: usize) -> Option<usize> {
        let bytes = text.as_bytes();
        let mut at = from + 1;
        loop {
            let space = spaces(text, at);
            at += space;
            if bytes.get(at) == Some(&b'/') && bytes.get(at + 1) == Some(&b'*') {
                at += self.block_comment(text, at)?;
            } else if space == 0 {
                break;
            }
        }
        if bytes.get(at) == Some(&b'/') && bytes.get(at + 1) == Some(&b'/') {
            at = line_end(text, at);
        }
        let newline = newline_len(text, at);
        (newline > 0 || at == text.len()).then_some(at + newline - from)
    }

    /// The string whose quotes begin at `from`, with `hashes` before them.
    pub(super) fn quotes(&mut self, text: &str, from: usize, hashes: usize) -> Quotes {
        let bytes = text.as_bytes();
        if bytes[from + hashes..].starts_with(b"\"\"\"") {
            self.triple(text, from, hashes)
        } else {
            single(text, from, hashes)
        }
    }

    fn triple(&mut self, text: &str, from: usize, hashes: usize) -> Quotes {
        let open = hashes + 3;
        let known = match hashes {
            0 => self.triple,
            _ => self.raw_triple.iter().find(|(count, _)| *count == hashes).map(|(_, from)| *from),
        };
        let found =
            if known.is_some_and(|known| from >= known) { None } else { close_triple(text, from + open, hashes) };
        match found {
            Some((inside, escapes)) => {
                Quotes { len: open + inside + 3 + hashes, open, inside, escapes, multi: true, closed: true }
            }
            None => {
                if known.is_none() && hashes == 0 {
                    self.triple = Some(from);
                } else if known.is_none() {
                    self.raw_triple.push((hashes, from));
                }
                // It costs its own line.
                let inside = line_end(text, from + open) - from - open;
                Quotes { len: open + inside, open, inside, escapes: false, multi: false, closed: false }
            }
        }
    }
}

/// The inside's length up to the closing `"""` with its hashes, and whether an escape was met.
fn close_triple(text: &str, from: usize, hashes: usize) -> Option<(usize, bool)> {
    let bytes = text.as_bytes();
    let (mut at, mut escapes) = (from, false);
    loop {
        match bytes.get(at)? {
            b'\\' if hashes == 0 => (at, escapes) = (at + 2, true),
            b'"' if bytes[at..].starts_with(b"\"\"\"") && hashes_at(bytes, at + 3, hashes) => {
                return Some((at - from, escapes));
            }
            _ => at += 1,
        }
    }
}

fn hashes_at(bytes: &[u8], at: usize, hashes: usize) -> bool {
    bytes.get(at..at + hashes).is_some_and(|found| found.iter().all(|byte| *byte == b'#'))
}

/// A string in single quotes: it ends at the line's end at the latest, an escaped line break apart.
fn single(text: &str, from: usize, hashes: usize) -> Quotes {
    let bytes = text.as_bytes();
    let open = hashes + 1;
    let (mut at, mut escapes) = (from + open, false);
    loop {
        let quotes = |at: usize, closed: bool| Quotes {
            len: at - from + if closed { 1 + hashes } else { 0 },
            open,
            inside: at - from - open,
            escapes,
            multi: false,
            closed,
        };
        match bytes.get(at) {
            None => return quotes(text.len(), false),
            Some(b'"') if hashes_at(bytes, at + 1, hashes) => return quotes(at, true),
            Some(b'\\') if hashes == 0 => {
                escapes = true;
                at += 1;
                let mut behind = at;
                // White space behind a backslash is taken away, line breaks included.
                loop {
                    let len = space_len(text, behind).max(newline_len(text, behind));
                    if len == 0 {
                        break;
                    }
                    behind += len;
                }
                at = if behind > at { behind } else { at + char_at(text, at).map_or(0, char::len_utf8) };
            }
            Some(byte)
                if is(*byte, NEWLINE) || is(*byte, WIDE) && text.is_char_boundary(at) && newline_len(text, at) > 0 =>
            {
                return quotes(at, false);
            }
            Some(_) => at += 1,
        }
    }
}

/// The first character of `text[from..to]` that may stand nowhere.
pub(super) fn forbidden(text: &str, from: usize, to: usize) -> Option<(usize, char)> {
    let bytes = &text.as_bytes()[from..to];
    if !bytes.iter().any(|byte| is(*byte, FORBIDDEN | WIDE)) {
        return None;
    }
    text[from..to].char_indices().find(|(_, c)| is_forbidden(*c)).map(|(at, c)| (from + at, c))
}

/// Whether a word is a number of KDL, and of which kind: `Some(true)` for a whole one.
pub(super) fn number(word: &str) -> Option<bool> {
    let digits = word.strip_prefix(['+', '-']).unwrap_or(word);
    let of = |rest: &str, allowed: fn(&u8) -> bool| {
        let bytes = rest.as_bytes();
        let good = bytes.first().is_some_and(allowed) && bytes.iter().all(|byte| allowed(byte) || *byte == b'_');
        good.then_some(true)
    };
    match digits.as_bytes() {
        [b'0', b'x', ..] => of(&digits[2..], u8::is_ascii_hexdigit),
        [b'0', b'o', ..] => of(&digits[2..], |byte| matches!(byte, b'0'..=b'7')),
        [b'0', b'b', ..] => of(&digits[2..], |byte| matches!(byte, b'0' | b'1')),
        _ => decimal(digits),
    }
}

fn decimal(digits: &str) -> Option<bool> {
    let integer = |part: &str| {
        let bytes = part.as_bytes();
        bytes.first().is_some_and(u8::is_ascii_digit) && bytes.iter().all(|byte| byte.is_ascii_digit() || *byte == b'_')
    };
    let (mantissa, exponent) = match digits.find(['e', 'E']) {
        Some(at) => (&digits[..at], Some(&digits[at + 1..])),
        None => (digits, None),
    };
    let (whole, fraction) = match mantissa.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (mantissa, None),
    };
    let good = integer(whole)
        && fraction.is_none_or(integer)
        && exponent.is_none_or(|exponent| integer(exponent.strip_prefix(['+', '-']).unwrap_or(exponent)));
    good.then_some(fraction.is_none() && exponent.is_none())
}
