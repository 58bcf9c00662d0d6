//! Tables: neighbouring lines of one word stand column by column, as long as their properties have the same names.

use super::gaps::{Gaps, Want};
use super::lines::Line;
use crate::syntax::TokenKind;

/// No column is widened by more blanks.
const WIDEST: usize = 12;

/// An argument or a property of a line.
#[derive(Debug)]
struct Cell<'t> {
    /// Its first piece.
    first: usize,
    /// Its name; `None` of an argument.
    name: Option<&'t str>,
    /// How many columns it takes.
    width: usize,
}

/// A line of a table.
#[derive(Debug)]
struct Row<'t> {
    word: &'t str,
    cells: Vec<Cell<'t>>,
}

/// Widens the gaps of neighbouring lines so that their columns stand below each other.
pub(super) fn line_up(gaps: &mut Gaps<'_>, lines: &[Line]) {
    let rows: Vec<(&Line, Option<Row<'_>>)> = lines.iter().map(|line| (line, row(gaps, line))).collect();
    let one_table = |(above, row): &(&Line, Option<Row<'_>>), (below, next): &(&Line, Option<Row<'_>>)| {
        let one_word = row.as_ref().zip(next.as_ref()).is_some_and(|(row, next)| row.word == next.word);
        one_word && above.depth == below.depth && !below.apart
    };
    for table in rows.chunk_by(one_table) {
        let table: Vec<&Row<'_>> = table.iter().filter_map(|(_, row)| row.as_ref()).collect();
        columns(gaps, &table);
    }
}

/// Lines up the columns of rows: each with those of its neighbours that agree with it on all before it. Nothing recurses: a
/// line may have as many entries as its file has bytes.
fn columns(gaps: &mut Gaps<'_>, rows: &[&Row<'_>]) {
    let mut ahead = vec![(rows, 0_usize)];
    while let Some((rows, column)) = ahead.pop() {
        let agree = |above: &&Row<'_>, below: &&Row<'_>| {
            let cells = (above.cells.get(column), below.cells.get(column));
            matches!(cells, (Some(one), Some(other)) if one.name == other.name)
        };
        let before =
            |row: &Row<'_>| column.checked_sub(1).and_then(|before| row.cells.get(before)).map_or(0, |cell| cell.width);
        for run in rows.chunk_by(agree).flat_map(|run| of_like_width(run, &before)).filter(|run| run.len() > 1) {
            let widest = run.iter().map(|row| before(row)).max().unwrap_or(0);
            for row in run.iter().filter(|_| column > 0) {
                if let Some(cell) = row.cells.get(column) {
                    gaps.want(cell.first, Want::Blanks(1 + widest - before(row)));
                }
            }
            ahead.push((run, column + 1));
        }
    }
}

/// Rows in a row whose cells differ in width by no more than a column may be widened.
fn of_like_width<'a, 'r, 't>(mut rows: &'a [&'r Row<'t>], width: &dyn Fn(&Row<'t>) -> usize) -> Vec<&'a [&'r Row<'t>]> {
    let mut runs = Vec::new();
    while !rows.is_empty() {
        let (mut least, mut most) = (usize::MAX, 0);
        let fits = |row: &&&Row<'t>| {
            (least, most) = (least.min(width(row)), most.max(width(row)));
            most - least <= WIDEST
        };
        let (run, rest) = rows.split_at(rows.iter().take_while(fits).count().max(1));
        runs.push(run);
        rows = rest;
    }
    runs
}

/// What a line has of a table: one node with its entries, up to the first thing that is none.
fn row<'t>(gaps: &Gaps<'t>, line: &Line) -> Option<Row<'t>> {
    if line.left || !line.plain {
        return None;
    }
    let first = line.pieces.start;
    let name = gaps.piece(first).filter(|piece| matches!(piece.kind, TokenKind::Word | TokenKind::Quoted))?;
    // Two nodes on one line are no row, nor is one whose block has begun on it and goes on below.
    let mut depth = 0;
    for number in line.pieces.clone() {
        match gaps.kind(number) {
            Some(TokenKind::OpenBrace) => depth += 1,
            Some(TokenKind::CloseBrace) => depth -= 1,
            Some(TokenKind::Semicolon) if depth == 0 && number + 1 < line.pieces.end => return None,
            _ => {}
        }
    }
    let last = line.comment(gaps).unwrap_or(line.pieces.end).checked_sub(1)?;
    let opens_last = depth == 1 && gaps.kind(last) == Some(TokenKind::OpenBrace);
    if depth != 0 && !opens_last {
        return None;
    }
    let (mut at, mut cells) = (first + 1, Vec::new());
    while at < line.pieces.end {
        let Some((cell, next)) = cell(gaps, at) else { break };
        cells.push(cell);
        at = next;
    }
    Some(Row { word: gaps.text_of(name), cells })
}

/// The entry that begins with a piece, and the piece behind it; `None` where none begins there.
fn cell<'t>(gaps: &Gaps<'t>, first: usize) -> Option<(Cell<'t>, usize)> {
    use TokenKind::{CloseParen, Equals, Keyword, Number, OpenParen, Quoted, Word};
    let mut at = first;
    let name = if gaps.kind(first + 1) == Some(Equals) {
        at += 2;
        Some(gaps.text_of(gaps.piece(first)?))
    } else {
        None
    };
    if gaps.kind(at) == Some(OpenParen) {
        let close = (at..at + 4).find(|number| gaps.kind(*number) == Some(CloseParen))?;
        at = close + 1;
    }
    matches!(gaps.kind(at)?, Word | Quoted | Number | Keyword).then_some(())?;
    let width =
        (first..=at).map(|number| gaps.width(number) + if number > first { gaps.blanks(number) } else { 0 }).sum();
    Some((Cell { first, name, width }, at + 1))
}
