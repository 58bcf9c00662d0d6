//! Lines: which pieces stand on one, how far it is indented, and how far its pieces stand apart.

use std::collections::BTreeSet;
use std::ops::Range;

use super::gaps::{Gaps, Want};
use super::left::Left;
use super::{INDENT, WIDTH};
use crate::syntax::{TokenKind, is_newline};

/// A line as it will be.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Its pieces, by their numbers.
    pub pieces: Range<usize>,
    /// How many blocks it stands in.
    pub depth: usize,
    /// Whether it is left as it is.
    pub left: bool,
    /// Whether a blank line stands before it.
    pub apart: bool,
    /// Whether nothing on it reaches over a line's end.
    pub plain: bool,
    /// Whether it was part of another one.
    pub new: bool,
}

impl Line {
    /// The comment that it ends with.
    pub(super) fn comment(&self, gaps: &Gaps<'_>) -> Option<usize> {
        let last = self.pieces.end.checked_sub(1)?;
        (last > self.pieces.start && gaps.kind(last) == Some(TokenKind::LineComment)).then_some(last)
    }

    /// Where its code ends, columns.
    pub(super) fn width(&self, gaps: &Gaps<'_>) -> usize {
        let code = self.pieces.start..self.comment(gaps).unwrap_or(self.pieces.end);
        let between: usize = code.clone().skip(1).map(|number| gaps.blanks(number)).sum();
        self.depth * INDENT + between + code.map(|number| gaps.width(number)).sum::<usize>()
    }
}

/// Lays a text out, tables and comments apart: says of each gap what is wanted there, and of the lines what they are.
pub(super) fn laid_out(gaps: &mut Gaps<'_>, left: &[Left]) -> Vec<Line> {
    let mut begun: BTreeSet<usize> = BTreeSet::new();
    loop {
        let lines = lines(gaps, left, &begun);
        for line in lines.iter().filter(|line| !line.left) {
            within(gaps, line);
        }
        let long = lines.iter().filter(|line| !line.left && line.plain && line.width(gaps) > WIDTH);
        let more: Vec<usize> = long.flat_map(|line| broken_up(gaps, line)).collect();
        let known = begun.len();
        begun.extend(more);
        if begun.len() == known {
            between(gaps, &lines);
            return lines;
        }
    }
}

/// The lines that the pieces stand on; `begun` are those that begin one though none begins there yet.
fn lines(gaps: &Gaps<'_>, left: &[Left], begun: &BTreeSet<usize>) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    let mut depth = 0_usize;
    let mut left = left.iter().copied().peekable();
    let mut behind = 0;
    for (number, piece) in gaps.pieces().iter().enumerate() {
        if piece.kind == TokenKind::Bom {
            continue;
        }
        while let Some(Left { closes, .. }) = left.next_if(|left| left.span.end < piece.span.start) {
            depth = if closes { 0 } else { depth };
        }
        let is_left = left.peek().is_some_and(|Left { span, .. }| span.overlaps(piece.span));
        let begins = lines.is_empty() || gaps.breaks(number) > 0 || begun.contains(&number);
        if begins {
            behind = 0;
            let apart = gaps.breaks(number) > 1;
            lines.push(Line {
                pieces: number..number,
                depth,
                left: false,
                apart,
                plain: true,
                new: !lines.is_empty() && gaps.breaks(number) == 0,
            });
        }
        let Some(line) = lines.last_mut() else { continue };
        let closes_first = piece.kind == TokenKind::CloseBrace && behind == number - line.pieces.start;
        match piece.kind {
            TokenKind::OpenBrace => depth += 1,
            TokenKind::CloseBrace => depth = depth.saturating_sub(1),
            _ => {}
        }
        if closes_first {
            behind += 1;
            line.depth = depth;
        }
        line.pieces.end = number + 1;
        line.left |= is_left;
        let over = piece.kind == TokenKind::LineContinuation || gaps.text_of(*piece).contains(is_newline);
        line.plain &= !over;
    }
    lines
}

/// Says how far the pieces of a line stand apart.
fn within(gaps: &mut Gaps<'_>, line: &Line) {
    for number in line.pieces.clone().skip(1) {
        // Where a line ends that begins on another one is nobody's column.
        let by_hand = !line.plain && gaps.kind(number) == Some(TokenKind::LineComment);
        gaps.want(number, if by_hand { Want::Kept } else { apart(gaps, number) });
    }
}

/// What is wanted before a piece that stands behind another one on a line.
fn apart(gaps: &Gaps<'_>, number: usize) -> Want {
    use TokenKind::{
        BlockComment, CloseBrace, CloseParen, Equals, LineComment, LineContinuation, OpenBrace, OpenParen, Semicolon,
        Slashdash,
    };
    let (before, piece) = (number.checked_sub(1).and_then(|before| gaps.kind(before)), gaps.kind(number));
    let as_written = Want::Blanks(usize::from(!gaps.is_empty(number)));
    match (before, piece) {
        // Behind one the line is laid out by hand.
        (Some(LineContinuation), _) => Want::Kept,
        (_, Some(LineComment)) => Want::Blanks(2),
        (Some(Slashdash | BlockComment), _) | (_, Some(BlockComment)) => as_written,
        (Some(OpenBrace), Some(CloseBrace)) => as_written,
        (_, Some(Semicolon | Equals | CloseParen)) | (Some(Equals | OpenParen | CloseParen), _) => Want::Blanks(0),
        _ => Want::Blanks(1),
    }
}

/// Says what stands between lines.
fn between(gaps: &mut Gaps<'_>, lines: &[Line]) {
    for (number, line) in lines.iter().enumerate() {
        let first = line.pieces.start;
        let before = number.checked_sub(1).and_then(|before| lines.get(before));
        let opens = first.checked_sub(1).and_then(|last| gaps.kind(last)) == Some(TokenKind::OpenBrace);
        let closes = gaps.kind(first) == Some(TokenKind::CloseBrace);
        let want = match before {
            Some(before) if line.left && before.left => Want::Kept,
            None if line.left => Want::Kept,
            None => Want::Blanks(0),
            Some(_) if line.left => Want::KeptIndent(if line.apart && !opens && !closes { 2 } else { 1 }),
            Some(_) => Want::Breaks(if line.apart && !opens && !closes { 2 } else { 1 }, line.depth * INDENT),
        };
        gaps.want(first, want);
    }
    let behind = gaps.pieces().len();
    match lines.last() {
        Some(last) if last.left => {}
        // It would take the line break as its own.
        Some(_) if behind.checked_sub(1).and_then(|last| gaps.kind(last)) == Some(TokenKind::LineContinuation) => {}
        Some(_) => gaps.want(behind, Want::Breaks(1, 0)),
        None => gaps.want(behind, Want::Blanks(0)),
    }
}

/// The pieces that begin lines of their own where the first block of a line is too long to stay on it: what stands in the
/// block, and what closes it. A line with a comment behind it stays: whatever is broken up, the comment would be of another line.
fn broken_up(gaps: &Gaps<'_>, line: &Line) -> Vec<usize> {
    if line.comment(gaps).is_some() {
        return Vec::new();
    }
    let (mut depth, mut begin) = (0_usize, Vec::new());
    for number in line.pieces.clone() {
        match gaps.kind(number) {
            Some(TokenKind::OpenBrace) => {
                if depth == 0 {
                    begin = vec![number + 1];
                }
                depth += 1;
            }
            Some(TokenKind::CloseBrace) => {
                // An empty one is as short as it gets.
                if depth == 1 && begin.first() != Some(&number) {
                    begin.push(number);
                    begin.dedup();
                    return begin;
                }
                depth = depth.saturating_sub(1);
            }
            Some(TokenKind::Semicolon) if depth == 1 => begin.push(number + 1),
            _ => {}
        }
    }
    // None ends on this line that is not empty, or is broken up already.
    Vec::new()
}
