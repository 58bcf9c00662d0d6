//! A file's text: its bytes, its lines, and the ways of counting in it.

use std::sync::{Arc, OnceLock};

use ropey::Rope;
use str_indices::{chars, lines_crlf, utf16};

use super::Span;

/// How a position counts the columns of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// Sixteen-bit units: what an editor counts in unless it says otherwise.
    Utf16,
    /// Characters (Unicode scalar values): what the pages print.
    Utf32,
}

/// A line and a column, both counted from 0, in some [`Encoding`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position {
    /// Line, from 0. A line ends at `\n`, `\r\n` or a lone `\r`.
    pub line: u32,
    /// Column in that line, from 0.
    pub column: u32,
}

/// A file's text. Cheap to clone; an edited text is a new value.
///
/// It is held as one string, as a rope, or both, each made from the other when first asked for: a file
/// read once from disk never pays for a rope, and a burst of edits never pays for the string between.
#[derive(Debug, Clone)]
pub struct Text {
    inner: Arc<Inner>,
}

#[derive(Debug)]
struct Inner {
    string: OnceLock<Arc<str>>,
    rope: OnceLock<Rope>,
    lossy: bool,
    hash: OnceLock<blake3::Hash>,
}

impl Text {
    /// A text from a string.
    pub fn new(text: impl AsRef<str>) -> Text {
        Text::of_string(Arc::from(text.as_ref()), false)
    }

    /// A text from whatever bytes a file holds. Bytes that are not UTF-8 are read as U+FFFD, and the text
    /// says so through [`Text::is_lossy`]. A byte-order mark stays in the text.
    pub fn from_bytes(bytes: &[u8]) -> Text {
        match std::str::from_utf8(bytes) {
            Ok(text) => Text::of_string(Arc::from(text), false),
            Err(_) => Text::of_string(Arc::from(String::from_utf8_lossy(bytes)), true),
        }
    }

    fn of_string(string: Arc<str>, lossy: bool) -> Text {
        Text {
            inner: Arc::new(Inner {
                string: OnceLock::from(string),
                rope: OnceLock::new(),
                lossy,
                hash: OnceLock::new(),
            }),
        }
    }

    /// The text as one string.
    pub fn as_str(&self) -> &str {
        self.inner.string.get_or_init(|| {
            // Only a text without a string lacks one, and that one was made with its rope.
            let rope = self.inner.rope.get();
            Arc::from(rope.map(Rope::to_string).unwrap_or_default())
        })
    }

    fn rope(&self) -> &Rope {
        self.inner.rope.get_or_init(|| Rope::from_str(self.as_str()))
    }

    /// Whether some bytes of the file were not UTF-8 and the text therefore differs from the file.
    pub fn is_lossy(&self) -> bool {
        self.inner.lossy
    }

    /// Length in bytes.
    pub fn len(&self) -> u32 {
        let len = match self.inner.rope.get() {
            Some(rope) => rope.len_bytes(),
            None => self.as_str().len(),
        };
        u32::try_from(len).unwrap_or(u32::MAX)
    }

    /// Whether the text is empty.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// A hash of the bytes.
    pub fn hash(&self) -> blake3::Hash {
        *self.inner.hash.get_or_init(|| blake3::hash(self.as_str().as_bytes()))
    }

    /// The part of the text that `span` covers, cut to the text and to whole characters.
    pub fn slice(&self, span: Span) -> &str {
        let text = self.as_str();
        let start = floor_char(text, span.start as usize);
        let end = floor_char(text, span.end as usize).max(start);
        &text[start..end]
    }

    /// How many lines the text has; an empty text has one.
    pub fn lines(&self) -> u32 {
        self.rope().len_lines() as u32
    }

    /// The line and column of a byte offset. An offset behind the end counts as the end, one inside a
    /// character as that character's start.
    pub fn position(&self, offset: u32, encoding: Encoding) -> Position {
        if let (None, Some(text)) = (self.inner.rope.get(), self.inner.string.get())
            && text.len() <= FEW_BYTES
        {
            return position(text, offset, encoding);
        }
        let rope = self.rope();
        let byte = (offset as usize).min(rope.len_bytes());
        let char = rope.byte_to_char(byte);
        let line = rope.char_to_line(char);
        let first = rope.line_to_char(line);
        let column = match encoding {
            Encoding::Utf8 => rope.char_to_byte(char) - rope.char_to_byte(first),
            Encoding::Utf16 => rope.char_to_utf16_cu(char) - rope.char_to_utf16_cu(first),
            Encoding::Utf32 => char - first,
        };
        Position { line: line as u32, column: column as u32 }
    }

    /// The byte offset of a position. A line behind the last counts as the text's end, a column behind a
    /// line's end as that end (before its line break), a column inside a character as that character's start.
    pub fn offset(&self, position: Position, encoding: Encoding) -> u32 {
        let rope = self.rope();
        let line = position.line as usize;
        if line >= rope.len_lines() {
            return rope.len_bytes() as u32;
        }
        let column = position.column as usize;
        let first = rope.line_to_char(line);
        let last = first + content_chars(rope, line);
        let char = match encoding {
            Encoding::Utf8 => {
                let byte = rope.char_to_byte(first).saturating_add(column);
                rope.byte_to_char(byte.min(rope.char_to_byte(last)))
            }
            Encoding::Utf16 => {
                let unit = rope.char_to_utf16_cu(first).saturating_add(column);
                rope.utf16_cu_to_char(unit.min(rope.char_to_utf16_cu(last)))
            }
            Encoding::Utf32 => first.saturating_add(column).min(last),
        };
        rope.char_to_byte(char) as u32
    }

    /// The span of a line's characters, its line break left out. A line behind the last is empty at the end.
    pub fn line_span(&self, line: u32) -> Span {
        let start = self.offset(Position { line, column: 0 }, Encoding::Utf32);
        let end = self.offset(Position { line, column: u32::MAX }, Encoding::Utf32);
        Span::new(start, end)
    }

    /// The text with `span` replaced by `text`. The span is cut to the text and to whole characters.
    #[must_use]
    pub fn edited(&self, span: Span, text: &str) -> Text {
        let mut rope = self.rope().clone();
        let clamp = |offset: u32| rope.byte_to_char((offset as usize).min(rope.len_bytes()));
        let (start, end) = (clamp(span.start), clamp(span.end));
        rope.remove(start..end.max(start));
        rope.insert(start, text);
        Text {
            inner: Arc::new(Inner {
                string: OnceLock::new(),
                rope: OnceLock::from(rope),
                lossy: self.inner.lossy,
                hash: OnceLock::new(),
            }),
        }
    }
}

/// In a text of no more bytes a position is counted from its start: a rope costs as much again as the text, and thousands of
/// files are asked once.
const FEW_BYTES: usize = 16 * 1024;

fn position(text: &str, offset: u32, encoding: Encoding) -> Position {
    let byte = floor_char(text, offset as usize);
    let line = lines_crlf::from_byte_idx(text, byte);
    let before = text.get(lines_crlf::to_byte_idx(text, line)..byte).unwrap_or_default();
    let column = match encoding {
        Encoding::Utf8 => before.len(),
        Encoding::Utf16 => utf16::count(before),
        Encoding::Utf32 => chars::count(before),
    };
    Position { line: line as u32, column: column as u32 }
}

/// The characters of a line without its line break.
fn content_chars(rope: &Rope, line: usize) -> usize {
    let slice = rope.line(line);
    let mut chars = slice.len_chars();
    if chars > 0 && slice.char(chars - 1) == '\n' {
        chars -= 1;
        if chars > 0 && slice.char(chars - 1) == '\r' {
            chars -= 1;
        }
    } else if chars > 0 && slice.char(chars - 1) == '\r' {
        chars -= 1;
    }
    chars
}

/// The start of the character that byte `at` lies in, or the text's end.
fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MIXED: &str = "m³ 1\n°C é\r\n😀 depth\rlast";

    proptest! {
        #[test]
        fn a_position_is_the_same_counted_or_found_in_a_rope(text in "[ab\r\né³😀\u{2028}]{0,40}", offset in 0u32..90) {
            let found = Text::new(&text);
            found.rope();
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                prop_assert_eq!(Text::new(&text).position(offset, encoding), found.position(offset, encoding));
            }
        }
    }

    #[test]
    fn columns_count_in_the_asked_encoding() {
        let text = Text::new(MIXED);
        let depth = MIXED.find("depth").expect("there") as u32;
        let column = |encoding| text.position(depth, encoding);
        assert_eq!(column(Encoding::Utf8), Position { line: 2, column: 5 });
        assert_eq!(column(Encoding::Utf16), Position { line: 2, column: 3 });
        assert_eq!(column(Encoding::Utf32), Position { line: 2, column: 2 });
    }

    #[test]
    fn a_position_past_a_line_is_its_end() {
        let text = Text::new(MIXED);
        let end = text.offset(Position { line: 1, column: u32::MAX }, Encoding::Utf16);
        assert_eq!(text.slice(Span::new(0, end)), "m³ 1\n°C é");
        assert_eq!(text.offset(Position { line: 99, column: 0 }, Encoding::Utf16), text.len());
    }

    #[test]
    fn bytes_that_are_not_utf8_are_said() {
        let text = Text::from_bytes(b"depth \xff30");
        assert!(text.is_lossy());
        assert_eq!(text.as_str(), "depth \u{fffd}30");
    }

    proptest! {
        #![proptest_config(crate::seed::properties(256))]

        #[test]
        fn positions_and_offsets_are_each_others_inverse(s in "(\r\n|[a\n\r³😀é]){0,40}") {
            let text = Text::new(&s);
            for (at, char) in s.char_indices().chain([(s.len(), ' ')]) {
                // Between the two halves of a line break there is no position of its own.
                let broken = char == '\n' && s[..at].ends_with('\r');
                for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                    let back = text.offset(text.position(at as u32, encoding), encoding);
                    if !broken { prop_assert_eq!(back, at as u32); }
                }
            }
        }

        #[test]
        fn editing_the_rope_is_editing_the_string(s in "[a\n😀é]{0,30}", new in "[b\r\n³]{0,10}", a in 0u32..80, b in 0u32..80) {
            let text = Text::new(&s);
            let (start, end) = (floor_char(&s, a.min(b) as usize), floor_char(&s, a.max(b) as usize));
            let expected = format!("{}{}{}", &s[..start], new, &s[end..]);
            let edited = text.edited(Span::new(a.min(b), a.max(b)), &new);
            prop_assert_eq!(edited.as_str(), expected);
        }
    }
}
