//! What the inside of a string means.

use super::bytes::{char_at, is_forbidden, is_wide_space, newline_len, space_len};
use crate::source::clean::shown;

/// A defect inside a string: where, as bytes of the text, and what.
pub(super) type Defect = (usize, usize, &'static str);

/// Undoes the escapes of `text[start..end]`; white space behind a backslash goes, line breaks included. Defects are
/// said, and what they stand for is left out.
pub(super) fn unescape(text: &str, start: usize, end: usize, said: &mut Vec<Defect>) -> String {
    let mut out = String::with_capacity(end - start);
    let mut at = start;
    while at < end {
        let next = memchr_backslash(text, at, end);
        out.push_str(&text[at..next]);
        if next >= end {
            break;
        }
        at = escape(text, next, end, &mut out, said);
    }
    out
}

fn memchr_backslash(text: &str, from: usize, end: usize) -> usize {
    text.as_bytes()[from..end].iter().position(|byte| *byte == b'\\').map_or(end, |found| from + found)
}

/// Reads the escape at `at` (its backslash) and returns where it ends.
fn escape(text: &str, at: usize, end: usize, out: &mut String, said: &mut Vec<Defect>) -> usize {
    let Some(next) = char_at(&text[..end], at + 1) else {
        said.push((at, end, "a backslash escapes nothing here"));
        return end;
    };
    let plain = match next {
        '"' | '\\' => Some(next),
        'b' => Some('\u{8}'),
        'f' => Some('\u{c}'),
        'n' => Some('\n'),
        'r' => Some('\r'),
        't' => Some('\t'),
        's' => Some(' '),
        _ => None,
    };
    if let Some(plain) = plain {
        out.push(plain);
        return at + 2;
    }
    if next == 'u' {
        return unicode(text, at, end, out, said);
    }
    let mut behind = at + 1;
    loop {
        let len = space_len(&text[..end], behind).max(newline_len(&text[..end], behind));
        if len == 0 {
            break;
        }
        behind += len;
    }
    if behind > at + 1 {
        return behind;
    }
    said.push((at, at + 1 + next.len_utf8(), "there is no such escape"));
    at + 1 + next.len_utf8()
}

fn unicode(text: &str, at: usize, end: usize, out: &mut String, said: &mut Vec<Defect>) -> usize {
    let body = &text[at + 2..end];
    let digits = body.strip_prefix('{').map(|rest| &rest[..rest.bytes().take_while(u8::is_ascii_hexdigit).count()]);
    if let Some(digits) = digits
        && (1..=6).contains(&digits.len())
        && body[1 + digits.len()..].starts_with('}')
    {
        let behind = at + 4 + digits.len();
        match u32::from_str_radix(digits, 16).ok().and_then(char::from_u32) {
            Some(c) => out.push(c),
            None => said.push((at, behind, "there is no such character")),
        }
        return behind;
    }
    said.push((at, at + 2, "a character is written \\u{…}, with one to six hexadecimal digits"));
    at + 2
}

/// What the inside of a multi-line string means. `text[start..end]` begins behind the opening quotes, with the line
/// break, and ends at the closing quotes.
///
/// White-space escapes go first, then the indentation of the last line is taken from every line, then the other escapes
/// are undone: the order that the language prescribes.
pub(super) fn multi_line(text: &str, start: usize, end: usize, raw: bool, said: &mut Vec<Defect>) -> String {
    let body = &text[start..end];
    let first = newline_len(body, 0);
    if first == 0 {
        said.push((start, end, "a string in three quotes begins with a line break"));
        return body.to_owned();
    }
    let resolved = if raw { None } else { without_space_escapes(&body[first..]) };
    let body = resolved.as_deref().unwrap_or(&body[first..]);
    let lines = split_lines(body);
    let Some((prefix, lines)) = lines.split_last() else { return String::new() };
    if !is_blank(prefix) {
        said.push((start, end, "the closing quotes stand on a line of their own"));
        return body.to_owned();
    }
    let mut out = String::with_capacity(body.len());
    for (index, line) in lines.iter().enumerate() {
        if index > 0 {
            out.push('\n');
        }
        match line.strip_prefix(prefix) {
            _ if is_blank(line) => {}
            Some(rest) => out.push_str(rest),
            None => {
                said.push((start, end, "each line is indented at least as the closing quotes are"));
                out.push_str(line);
            }
        }
    }
    if raw || !out.contains('\\') {
        return out;
    }
    let mut inside = Vec::new();
    let unescaped = unescape(&out, 0, out.len(), &mut inside);
    said.extend(inside.into_iter().map(|(_, _, what)| (start, end, what)));
    unescaped
}

/// The body without its white-space escapes; `None` where there are none.
fn without_space_escapes(body: &str) -> Option<String> {
    let mut out: Option<String> = None;
    let (mut kept, mut at) = (0, 0);
    while let Some(found) = body[at..].find('\\') {
        let backslash = at + found;
        let mut behind = backslash + 1;
        loop {
            let len = space_len(body, behind).max(newline_len(body, behind));
            if len == 0 {
                break;
            }
            behind += len;
        }
        if behind > backslash + 1 {
            out.get_or_insert_default().push_str(&body[kept..backslash]);
            kept = behind;
            at = behind;
        } else {
            at = behind + char_at(body, behind).map_or(0, char::len_utf8);
        }
    }
    if let Some(out) = &mut out {
        out.push_str(&body[kept..]);
    }
    out
}

fn split_lines(body: &str) -> Vec<&str> {
    let mut lines = Vec::new();
    let (mut from, mut at) = (0, 0);
    while at < body.len() {
        let len = if body.is_char_boundary(at) { newline_len(body, at) } else { 0 };
        if len > 0 {
            lines.push(&body[from..at]);
            from = at + len;
        }
        at += len.max(1);
    }
    lines.push(&body[from..]);
    lines
}

fn is_blank(line: &str) -> bool {
    line.chars().all(|c| matches!(c, ' ' | '\t') || is_wide_space(c))
}

/// A string as KDL writes it, in quotes where it must be.
pub(crate) fn written(text: &str) -> String {
    let written = kdl::KdlValue::String(text.to_owned()).to_string();
    if written.chars().all(|c| !is_hidden(c)) {
        return written;
    }
    let quoted = if written.starts_with('"') { written } else { format!("\"{written}\"") };
    let escaped = |c: char| if is_hidden(c) { format!("\\u{{{:x}}}", c as u32) } else { c.to_string() };
    quoted.chars().map(escaped).collect()
}

/// What may stand nowhere in a document, and what nobody sees: it is written by its number.
fn is_hidden(c: char) -> bool {
    is_forbidden(c) || shown(c).is_some()
}

/// A string in quotes, as names are written in plans, whether or not it could do without.
pub(crate) fn quoted(text: &str) -> String {
    let written = written(text);
    // What may stand without quotes needs none of its letters escaped.
    if written.starts_with('"') { written } else { format!("\"{written}\"") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{Tree, Value};
    use proptest::prelude::*;

    proptest! {
        /// What is written reads as it was meant, and nothing in it is hidden.
        #[test]
        fn what_is_written_reads_back(text in "[a\"\\\\ \\PC\u{0}-\u{20}\u{7f}-\u{a0}\u{200b}-\u{200f}\u{2028}-\u{202e}\u{2066}\u{feff}]{0,12}") {
            for written in [written(&text), quoted(&text)] {
                prop_assert!(written.chars().all(|c| !is_hidden(c)), "{written:?}");
                let tree = Tree::parse(&format!("node {written}"));
                prop_assert_eq!(tree.errors().len(), 0);
                let node = tree.roots().next().unwrap();
                let value = tree.entries(node).next().unwrap().value;
                prop_assert!(matches!(value, Value::Text(ref read) if **read == text), "{written:?} {value:?}");
            }
        }
    }
}
