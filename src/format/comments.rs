//! Comments at the ends of neighbouring lines, which stand below each other.

use super::gaps::{Gaps, Want};
use super::lines::Line;
use crate::syntax::TokenKind;

/// A comment stands so far from its line's code, blanks.
const CLEAR: usize = 2;
/// Where comments have no column yet it is a multiple of this.
const STEP: usize = 4;
/// A line that is so much longer than another one of its group keeps a comment of its own, columns.
const LONGER: usize = 32;

/// Puts the comments at the ends of neighbouring lines of one depth into one column.
pub(super) fn line_up(gaps: &mut Gaps<'_>, lines: &[Line]) {
    let ends = |line: &Line| !line.left && line.plain && line.comment(gaps).is_some();
    let group = |above: &Line, below: &Line| ends(above) && ends(below) && above.depth == below.depth && !below.apart;
    let groups: Vec<&[Line]> = lines.chunk_by(group).filter(|group| group.first().is_some_and(ends)).collect();
    for group in groups {
        below_each_other(gaps, group);
    }
    go_on_below(gaps, lines);
}

/// A comment that goes on in a line of its own, in the column of the one above, stays in that column.
fn go_on_below(gaps: &mut Gaps<'_>, lines: &[Line]) {
    // Where the comment above stood, and where it stands now.
    let mut above: Option<(usize, usize)> = None;
    for line in lines {
        let first = line.pieces.start;
        let alone = line.pieces.len() == 1 && gaps.kind(first) == Some(TokenKind::LineComment);
        above = match (line.comment(gaps), above) {
            _ if line.left || !line.plain || line.new => None,
            (Some(comment), _) => Some((gaps.column(comment), line.width(gaps) + gaps.blanks(comment))),
            (None, Some((stood, stands))) if alone && !line.apart && gaps.column(first) == stood => {
                gaps.want(first, Want::Breaks(1, stands));
                above
            }
            _ => None,
        };
    }
}

fn below_each_other(gaps: &mut Gaps<'_>, group: &[Line]) {
    let column = |line: &Line, comment: usize| (!line.new).then(|| gaps.column(comment));
    let all: Vec<(usize, usize, Option<usize>)> = group
        .iter()
        .filter_map(|line| line.comment(gaps).map(|comment| (comment, line.width(gaps), column(line, comment))))
        .collect();
    let most = |some: &[(usize, usize, Option<usize>)]| some.iter().map(|(_, width, _)| *width).max().unwrap_or(0);
    let shared = |some: &[(usize, usize, Option<usize>)]| {
        let first = some.first().and_then(|(.., column)| *column).filter(|column| *column > most(some))?;
        some.iter().all(|(.., column)| *column == Some(first)).then_some(first)
    };
    if let Some(column) = shared(&all) {
        for (comment, width, _) in all {
            gaps.want(comment, Want::Blanks(column - width));
        }
        return;
    }
    let least = all.iter().map(|(_, width, _)| *width).min().unwrap_or(0);
    let (alike, long): (Vec<_>, Vec<_>) = all.into_iter().partition(|(_, width, _)| width - least <= LONGER);
    for (comment, ..) in long {
        gaps.want(comment, Want::Blanks(CLEAR));
    }
    let column = shared(&alike).unwrap_or((most(&alike) + CLEAR).next_multiple_of(STEP));
    for (comment, width, _) in alike {
        gaps.want(comment, Want::Blanks(column - width));
    }
}
