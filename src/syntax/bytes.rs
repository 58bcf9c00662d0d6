//! What single bytes and characters are in KDL 2.

/// May stand in an identifier; for a byte past ASCII, may be part of a character that may.
pub(super) const IDENT: u8 = 1;
/// A space within a line.
pub(super) const SPACE: u8 = 2;
/// Begins a line break.
pub(super) const NEWLINE: u8 = 4;
/// A digit.
pub(super) const DIGIT: u8 = 8;
/// Part of a character past ASCII, which must be looked at whole.
pub(super) const WIDE: u8 = 16;
/// May stand nowhere in a document.
pub(super) const FORBIDDEN: u8 = 32;

/// The classes of each byte.
pub(super) static CLASS: [u8; 256] = classes();

const fn classes() -> [u8; 256] {
    let mut class = [0u8; 256];
    let mut byte = 0;
    while byte < 256 {
        class[byte] = match byte as u8 {
            b'\t' | b' ' => SPACE,
            b'\n' | b'\r' | 0x0b | 0x0c => NEWLINE,
            0x00..=0x08 | 0x0e..=0x1f | 0x7f => FORBIDDEN,
            b'\\' | b'/' | b'(' | b')' | b'{' | b'}' | b';' | b'[' | b']' | b'"' | b'#' | b'=' => 0,
            b'0'..=b'9' => IDENT | DIGIT,
            0x80..=0xff => IDENT | WIDE,
            _ => IDENT,
        };
        byte += 1;
    }
    class
}

/// Whether a byte has one of the classes.
pub(super) const fn is(byte: u8, class: u8) -> bool {
    CLASS[byte as usize] & class != 0
}

/// Spaces within a line that are no ASCII.
pub(super) const fn is_wide_space(c: char) -> bool {
    matches!(c, '\u{a0}' | '\u{1680}' | '\u{2000}'..='\u{200a}' | '\u{202f}' | '\u{205f}' | '\u{3000}')
}

/// Whether a character breaks a line.
pub(crate) const fn is_newline(c: char) -> bool {
    matches!(c, '\n' | '\r' | '\u{b}' | '\u{c}') || is_wide_newline(c)
}

/// Line breaks that are no ASCII.
pub(super) const fn is_wide_newline(c: char) -> bool {
    matches!(c, '\u{85}' | '\u{2028}' | '\u{2029}')
}

/// Characters that may stand nowhere in a document, not even in a string or a comment.
pub(super) const fn is_forbidden(c: char) -> bool {
    matches!(c,
        '\0'..='\u{8}' | '\u{e}'..='\u{1f}' | '\u{7f}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// The character at a byte offset; the offset is a character's start or the text's end.
pub(super) fn char_at(text: &str, at: usize) -> Option<char> {
    text.get(at..)?.chars().next()
}

/// The length of the line break at an offset, 0 if there is none.
pub(super) fn newline_len(text: &str, at: usize) -> usize {
    let bytes = text.as_bytes();
    match bytes.get(at) {
        Some(b'\r') if bytes.get(at + 1) == Some(&b'\n') => 2,
        Some(byte) if is(*byte, NEWLINE) => 1,
        Some(byte) if is(*byte, WIDE) => char_at(text, at).filter(|c| is_wide_newline(*c)).map_or(0, char::len_utf8),
        _ => 0,
    }
}

/// The length of the space at an offset, 0 if there is none.
pub(super) fn space_len(text: &str, at: usize) -> usize {
    match text.as_bytes().get(at) {
        Some(byte) if is(*byte, SPACE) => 1,
        Some(byte) if is(*byte, WIDE) => char_at(text, at).filter(|c| is_wide_space(*c)).map_or(0, char::len_utf8),
        _ => 0,
    }
}

/// The length of the identifier character at an offset, 0 if there is none.
pub(super) fn ident_len(text: &str, at: usize) -> usize {
    match text.as_bytes().get(at) {
        Some(byte) if is(*byte, WIDE) => char_at(text, at)
            .filter(|c| !is_wide_space(*c) && !is_wide_newline(*c) && !is_forbidden(*c))
            .map_or(0, char::len_utf8),
        Some(byte) if is(*byte, IDENT) => 1,
        _ => 0,
    }
}

/// The end of the line that holds an offset: where its line break begins, or the text's end.
pub(super) fn line_end(text: &str, from: usize) -> usize {
    let bytes = text.as_bytes();
    let mut at = from;
    while let Some(byte) = bytes.get(at) {
        if is(*byte, NEWLINE) || is(*byte, WIDE) && text.is_char_boundary(at) && newline_len(text, at) > 0 {
            return at;
        }
        at += 1;
    }
    text.len()
}
