//! Bare words: identifiers, numbers, and what is neither.

use super::SyntaxErrorKind;
use super::parse::{Parser, is_number};
use super::raw::{Kept, Str};
use super::token::TokenKind;
use crate::source::Span;

/// Takes the next `len` bytes, a run of identifier characters, as an identifier, a number, or a bad word with the mend
/// that it wants.
pub(super) fn bare(parser: &mut Parser<'_>, len: usize) -> (Kept, Span) {
    let text = parser.text;
    let word = &text[parser.at..parser.at + len];
    let bytes = word.as_bytes();
    let signed = matches!(bytes[0], b'+' | b'-');
    let first = bytes.get(usize::from(signed)).copied();
    let looks_numeric = first.is_some_and(|byte| byte.is_ascii_digit());
    if looks_numeric {
        return match is_number(word) {
            Some(kept) => (kept, parser.push(TokenKind::Number, len)),
            None => no_number(parser, word),
        };
    }
    let dotted = first == Some(b'.') && bytes.get(usize::from(signed) + 1).is_some_and(u8::is_ascii_digit);
    if dotted {
        let whole = word.replacen('.', "0.", 1);
        return bad(
            parser,
            word,
            SyntaxErrorKind::Malformed,
            "a number begins with a digit",
            Some((format!("write {whole}"), whole)),
        );
    }
    if matches!(word, "true" | "false" | "null" | "inf" | "-inf" | "nan") {
        let message = format!("{word} is written #{word}; as a word it needs quotes");
        return bad(
            parser,
            word,
            SyntaxErrorKind::Malformed,
            &message,
            Some((format!("write #{word}"), format!("#{word}"))),
        );
    }
    let span = parser.push(TokenKind::Word, len);
    (Kept::Str(Str { span, inside: span, decoded: false }), span)
}

fn bad(
    parser: &mut Parser<'_>,
    word: &str,
    kind: SyntaxErrorKind,
    message: &str,
    fix: Option<(String, String)>,
) -> (Kept, Span) {
    let span = parser.push(TokenKind::Bad, word.len());
    let error = parser.error(kind, span, message, None);
    error.fix = fix.map(|(title, text)| (title, vec![(span, text)]));
    (Kept::Bad, span)
}

/// A word that begins as a number does and is none.
fn no_number(parser: &mut Parser<'_>, word: &str) -> (Kept, Span) {
    let shape: String = word.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect();
    if matches!(&*shape, "0000-00-00" | "0000-0-0" | "0000-00-0" | "0000-0-00") {
        let fix = Some((format!("write \"{word}\""), format!("\"{word}\"")));
        return bad(parser, word, SyntaxErrorKind::WantsQuotes, &format!("the date {word} needs quotes"), fix);
    }
    if matches!(&*shape, "00:00" | "0:00" | "00:00:00") {
        let fix = Some((format!("write \"{word}\""), format!("\"{word}\"")));
        return bad(parser, word, SyntaxErrorKind::WantsQuotes, &format!("the time {word} needs quotes"), fix);
    }
    if let Some((whole, fraction)) = word.split_once(',') {
        let point = format!("{whole}.{fraction}");
        if is_number(&point).is_some() {
            let message = format!("a decimal is written with a point: {point}");
            return bad(parser, word, SyntaxErrorKind::Malformed, &message, Some((format!("write {point}"), point)));
        }
    }
    let end = word.find(|c: char| !matches!(c, '0'..='9' | '.' | '_' | '+' | '-')).unwrap_or(word.len());
    let (number, unit) = word.split_at(end);
    let number = number.trim_end_matches('_');
    if is_number(number).is_some() && unit == "%" {
        let fix = Some((format!("write {number}"), number.to_owned()));
        return bad(parser, word, SyntaxErrorKind::WantsAnnotation, "a percentage is written without its sign", fix);
    }
    if is_number(number).is_some()
        && !unit.is_empty()
        && unit.chars().all(|c| c.is_alphabetic() || matches!(c, '/' | '°'))
    {
        let unit = if unit == "L" { "l" } else { unit };
        let written = format!("({unit}){number}");
        let message = format!("a unit is written before its number: {written}");
        return bad(
            parser,
            word,
            SyntaxErrorKind::WantsAnnotation,
            &message,
            Some((format!("write {written}"), written)),
        );
    }
    bad(
        parser,
        word,
        SyntaxErrorKind::Malformed,
        &format!("{word} is no number, and a word does not begin with a digit"),
        Some((format!("write \"{word}\""), format!("\"{word}\""))),
    )
}
