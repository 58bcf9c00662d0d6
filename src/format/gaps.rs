//! A text as its pieces, which stay, and the white space between them, which may change.

use textwrap::core::display_width;

use crate::source::Span;
use crate::syntax::{TokenKind, Tree, is_newline};

/// A token that is no white space.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub kind: TokenKind,
    pub span: Span,
}

/// What is to stand in a gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Want {
    /// What stands there.
    Kept,
    /// So many blanks.
    Blanks(usize),
    /// So many line breaks and, behind them, so many blanks.
    Breaks(usize, usize),
    /// So many line breaks and, behind them, what stands behind the last one.
    KeptIndent(usize),
}

/// The white space before a piece, or behind the last one.
#[derive(Debug, Clone)]
struct Gap {
    span: Span,
    /// The line breaks in it.
    breaks: Vec<Span>,
    want: Want,
}

/// A text's pieces and the gaps before each of them and behind the last.
#[derive(Debug)]
pub(super) struct Gaps<'t> {
    text: &'t str,
    pieces: Vec<Piece>,
    /// How many columns each takes.
    widths: Vec<usize>,
    gaps: Vec<Gap>,
    /// How a line ends in this file.
    line_end: &'t str,
}

impl<'t> Gaps<'t> {
    pub(super) fn of(tree: &'t Tree) -> Gaps<'t> {
        let text = tree.text();
        let (mut pieces, mut gaps) = (Vec::new(), Vec::new());
        let (mut from, mut breaks) = (0, Vec::new());
        let mut line_end = None;
        for (kind, span) in tree.tokens() {
            match kind {
                TokenKind::Space => {}
                TokenKind::Newline => {
                    line_end = line_end.or(text.get(span.range()));
                    breaks.push(span);
                }
                _ => {
                    let breaks = std::mem::take(&mut breaks);
                    gaps.push(Gap { span: Span::new(from, span.start), breaks, want: Want::Kept });
                    pieces.push(Piece { kind, span });
                    from = span.end;
                }
            }
        }
        gaps.push(Gap { span: Span::new(from, text.len() as u32), breaks, want: Want::Kept });
        let width = |piece: &Piece| display_width(text.get(piece.span.range()).unwrap_or_default());
        let widths = pieces.iter().map(width).collect();
        Gaps { text, pieces, widths, gaps, line_end: line_end.unwrap_or("\n") }
    }

    pub(super) fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    pub(super) fn piece(&self, number: usize) -> Option<Piece> {
        self.pieces.get(number).copied()
    }

    /// The kind of a piece; `None` where there is none.
    pub(super) fn kind(&self, number: usize) -> Option<TokenKind> {
        Some(self.pieces.get(number)?.kind)
    }

    pub(super) fn text_of(&self, piece: Piece) -> &'t str {
        self.text.get(piece.span.range()).unwrap_or_default()
    }

    /// How many columns a piece takes.
    pub(super) fn width(&self, number: usize) -> usize {
        self.widths.get(number).copied().unwrap_or(0)
    }

    /// How many line breaks stand in a gap.
    pub(super) fn breaks(&self, number: usize) -> usize {
        self.gaps.get(number).map_or(0, |gap| gap.breaks.len())
    }

    /// Whether nothing stands in a gap.
    pub(super) fn is_empty(&self, number: usize) -> bool {
        self.gaps.get(number).is_none_or(|gap| gap.span.is_empty())
    }

    /// The column at which a piece begins as it stands.
    pub(super) fn column(&self, number: usize) -> usize {
        let Some(piece) = self.piece(number) else { return 0 };
        let before = self.text.get(..piece.span.start as usize).unwrap_or_default();
        let from = before
            .rfind(is_newline)
            .map_or(0, |at| at + before.get(at..).and_then(|end| end.chars().next()).map_or(0, char::len_utf8));
        display_width(before.get(from..).unwrap_or_default().trim_start_matches('\u{feff}'))
    }

    pub(super) fn want(&mut self, number: usize, want: Want) {
        if let Some(gap) = self.gaps.get_mut(number) {
            gap.want = want;
        }
    }

    /// The blanks that are wanted in a gap, or that stand there where it is kept.
    pub(super) fn blanks(&self, number: usize) -> usize {
        match self.gaps.get(number) {
            Some(Gap { want: Want::Blanks(blanks), .. }) => *blanks,
            Some(gap) => display_width(self.text.get(gap.span.range()).unwrap_or_default()),
            None => 0,
        }
    }

    /// What is to be written in place of what.
    pub(super) fn changes(&self) -> Vec<(Span, String)> {
        self.gaps.iter().filter_map(|gap| self.change(gap)).collect()
    }

    /// So many ends of lines, those that stand in a gap first.
    fn line_ends(&self, gap: &Gap, breaks: usize) -> String {
        let written = |number| gap.breaks.get(number).and_then(|span: &Span| self.text.get(span.range()));
        (0..breaks).map(|number| written(number).unwrap_or(self.line_end)).collect()
    }

    fn change(&self, gap: &Gap) -> Option<(Span, String)> {
        let new = match gap.want {
            Want::Kept => return None,
            Want::Blanks(blanks) => " ".repeat(blanks),
            Want::Breaks(breaks, blanks) => self.line_ends(gap, breaks) + &" ".repeat(blanks),
            Want::KeptIndent(breaks) => {
                let from = gap.breaks.last().map_or(gap.span.start, |last| last.end);
                self.line_ends(gap, breaks) + self.text.get(from as usize..gap.span.end as usize)?
            }
        };
        let old = self.text.get(gap.span.range())?;
        if old == new {
            return None;
        }
        // As little of it as differs, and no half of a line break.
        let same = |(a, b): &(char, char)| a == b;
        let mut ahead: usize = old.chars().zip(new.chars()).take_while(same).map(|(c, _)| c.len_utf8()).sum();
        if old.get(..ahead).is_some_and(|ahead| ahead.ends_with('\r')) {
            ahead -= 1;
        }
        let (old_rest, new_rest) = (old.get(ahead..)?, new.get(ahead..)?);
        let back = old_rest.chars().rev().zip(new_rest.chars().rev()).take_while(same);
        let mut behind: usize = back.map(|(c, _)| c.len_utf8()).sum();
        if old_rest.get(old_rest.len() - behind..).is_some_and(|behind| behind.starts_with('\n')) {
            behind -= 1;
        }
        let span = Span::new(gap.span.start + ahead as u32, gap.span.end - behind as u32);
        Some((span, new_rest.get(..new_rest.len() - behind)?.to_owned()))
    }
}
