//! Formatting: the one way in which a file is laid out.
//!
//! What is written stays as it is written, down to quotes and numbers, order and comments: only the white space between
//! changes. A node with a fault is left byte for byte, and so is all that an unclosed block may hold.

mod comments;
mod gaps;
mod left;
mod lines;
mod tables;

use self::gaps::Gaps;
use crate::source::{Span, applied};
use crate::syntax::{TokenKind, Tree};

/// The width up to which a block stays on one line, columns.
const WIDTH: usize = 100;
/// Blanks a level.
const INDENT: usize = 4;

/// What to write in place of what, so that a text is laid out as it should be: the fewest changes, in order, none of which
/// spans anything but white space. None where the text is so already.
pub fn changes(tree: &Tree) -> Vec<(Span, String)> {
    let left = left::as_it_is(tree);
    let mut gaps = Gaps::of(tree);
    let lines = lines::laid_out(&mut gaps, &left);
    tables::line_up(&mut gaps, &lines);
    comments::line_up(&mut gaps, &lines);
    let changes = gaps.changes();
    // Where braces are missing indentation tells what was meant: then no change may tell otherwise.
    let safe = tree.errors().is_empty() || left::reads_alike(tree, &applied(tree.text(), &changes));
    if safe { changes } else { Vec::new() }
}

/// How far what begins at an offset, first on its line, is indented, blanks: by the blocks that are open before it.
pub(crate) fn indent_at(tree: &Tree, offset: u32) -> usize {
    let before = tree.tokens().take_while(|(_, span)| span.start < offset);
    let open = before.fold(0_usize, |open, (kind, _)| match kind {
        TokenKind::OpenBrace => open + 1,
        TokenKind::CloseBrace => open.saturating_sub(1),
        _ => open,
    });
    let closes = tree.token_at(offset).is_some_and(|(kind, _)| kind == TokenKind::CloseBrace);
    open.saturating_sub(usize::from(closes)) * INDENT
}
