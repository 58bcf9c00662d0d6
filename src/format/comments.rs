//! Comments at the ends of neighbouring lines, which stand below each other.

use super::gaps::{Gaps, Want};
use super::lines::Line;

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
}

fn below_each_other(gaps: &mut Gaps<'_>, group: &[Line]) {
    let column = |line: &Line, comment: usize| (!line.new).then(|| gaps.column(comment));
    let all: Vec<(usize, usize, Option<usize>)> = group
        .iter()
        .filter_map(|line| line.comment(gaps).map(|comment| (comment, line.width(gaps), column(line, comment))))
        .collect();
    let least = all.iter().map(|(_, width, _)| *width).min().unwrap_or(0);
    let (alike, long): (Vec<_>, Vec<_>) = all.into_iter().partition(|(_, width, _)| width - least <= LONGER);
    for (comment, ..) in long {
        gaps.want(comment, Want::Blanks(CLEAR));
    }
    let most = alike.iter().map(|(_, width, _)| *width).max().unwrap_or(0);
    let shared = alike.first().and_then(|(.., column)| *column).filter(|column| *column > most);
    let shared = shared.filter(|shared| alike.iter().all(|(.., column)| *column == Some(*shared)));
    let column = shared.unwrap_or((most + CLEAR).next_multiple_of(STEP));
    for (comment, width, _) in alike {
        gaps.want(comment, Want::Blanks(column - width));
    }
}
