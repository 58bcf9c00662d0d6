//! Formatting: a file, a range of it, and what was just typed.

use tower_lsp::ls_types::{Position, Range, TextEdit};

use crate::format::{changes, indent_at};
use crate::server::documents::Here;
use crate::server::place;
use crate::source::{self, Encoding, Span};
use crate::syntax::{TokenKind, Tree};

/// The edits that lay out a file, or the lines of a range of it.
pub(crate) fn of(here: &Here<'_>, range: Option<Range>) -> Vec<TextEdit> {
    let Some(tree) = tree(here) else { return Vec::new() };
    edits(here, &tree, range.map(|range| here.span(range)))
}

/// The edits for what was typed last: behind a line break the new line's indentation, behind a closing brace its block.
pub(crate) fn typed(here: &Here<'_>, at: Position, typed: &str) -> Vec<TextEdit> {
    let Some(tree) = tree(here) else { return Vec::new() };
    let offset = place::offset(&here.text, at, here.abilities().encoding);
    match typed {
        "}" => closed(&tree, offset).map(|block| edits(here, &tree, Some(block))).unwrap_or_default(),
        "\n" => indented(here, &tree, offset).into_iter().collect(),
        _ => Vec::new(),
    }
}

fn tree(here: &Here<'_>) -> Option<Tree> {
    // What is shown of bytes that are no text is not what they are.
    here.archive.tree(&here.file).filter(|_| !here.text.is_lossy())
}

fn edits(here: &Here<'_>, tree: &Tree, within: Option<Span>) -> Vec<TextEdit> {
    let at = |offset| here.text.position(offset, Encoding::Utf8);
    let lines = within.map(|span| {
        let (first, last) = (at(span.start), at(span.end));
        // Up to a line's begin only: nothing of that line is meant.
        let before_last = last.line > first.line && last.column == 0;
        first.line..=if before_last { last.line - 1 } else { last.line }
    });
    let meant = |span: &Span| {
        lines.as_ref().is_none_or(|lines| lines.contains(&at(span.start).line) && lines.contains(&at(span.end).line))
    };
    let changes = changes(tree).into_iter().filter(|(span, _)| meant(span));
    changes.map(|(span, new)| TextEdit::new(here.range(span), new)).collect()
}

/// From the brace that opens the block whose closing brace ends at an offset to that one.
fn closed(tree: &Tree, offset: u32) -> Option<Span> {
    let mut open = Vec::new();
    for (kind, span) in tree.tokens().take_while(|(_, span)| span.end <= offset) {
        match kind {
            TokenKind::OpenBrace => open.push(span.start),
            TokenKind::CloseBrace => {
                let begins = open.pop();
                if span.end == offset {
                    return begins.map(|begins| Span::new(begins, offset));
                }
            }
            _ => {}
        }
    }
    None
}

/// The blanks that the line of an offset begins with, if others belong there.
fn indented(here: &Here<'_>, tree: &Tree, offset: u32) -> Option<TextEdit> {
    let text = tree.text();
    let line = here.text.position(offset, Encoding::Utf8).line;
    let from = here.text.offset(source::Position { line, column: 0 }, Encoding::Utf8) as usize;
    let blanks: usize = text.get(from..)?.chars().take_while(|c| matches!(c, ' ' | '\t')).map(char::len_utf8).sum();
    // Inside a string or a comment that goes on over the line's end blanks are text.
    let broken_here = tree.token_at((from as u32).checked_sub(1)?).is_some_and(|(kind, _)| kind == TokenKind::Newline);
    let new = " ".repeat(indent_at(tree, (from + blanks) as u32));
    let span = Span::new(from as u32, (from + blanks) as u32);
    (broken_here && text.get(span.range())? != new).then(|| TextEdit::new(here.range(span), new))
}
