//! The lines of some files that a finding is drawn on.
//!
//! miette draws from one source. An [`Excerpt`] is a text made for one finding: of each file that takes part, the
//! lines that hold its places and those beside them, cut to the width and with nothing left in them that could
//! mislead. So a finding's cost to draw doesn't grow with its file, and one drawing shows several files.

use std::sync::Arc;

use miette::{LabeledSpan, MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};
use textwrap::core::display_width;

use crate::archive::Archive;
use crate::pages::spots;
use crate::source::clean::{clean, shown};
use crate::source::{Encoding, FileId, Place, Span, Text};

/// Columns that a tab advances to a multiple of.
pub(super) const TAB: usize = 4;
/// Lines shown before and after a place.
pub(super) const AROUND: u32 = 1;
/// Columns kept before a place where a line is cut.
const BEFORE: usize = 16;
/// Columns that a label's text never gets less than.
const LEAST_LABEL: usize = 24;

/// A text to draw one finding on.
#[derive(Debug, Default)]
pub(super) struct Excerpt {
    text: String,
    lines: Vec<Line>,
    labels: Vec<Label>,
}

#[derive(Debug)]
struct Line {
    /// Where it starts in the excerpt.
    start: usize,
    /// Its number in its file, from 0.
    number: u32,
    /// The name of its file.
    name: Arc<str>,
}

#[derive(Debug)]
struct Label {
    /// Where it starts and ends in the excerpt.
    start: usize,
    end: usize,
    /// Columns before its middle, for the room its text has.
    middle: usize,
    /// Column in its file, in characters from 0.
    column: u32,
    says: Vec<String>,
    primary: bool,
}

/// One place to draw.
#[derive(Debug)]
pub(super) struct Drawn<'a> {
    /// Where.
    pub place: &'a Place,
    /// What is said of it; nothing for the finding's own place.
    pub says: Option<&'a str>,
}

/// The part of one place that is drawn: all of it that is on its first line.
#[derive(Debug)]
struct Mark<'a> {
    line: u32,
    column: u32,
    span: Span,
    says: Option<&'a str>,
    primary: bool,
}

impl Excerpt {
    /// The lines of one finding's places, the first of which is its own. `name` gives the files' names, `width` is
    /// that of the drawing in columns. A place in a file that can't be read is left out.
    pub(super) fn of(
        archive: &Archive,
        places: &[Drawn<'_>],
        name: &dyn Fn(&FileId) -> String,
        width: usize,
    ) -> Excerpt {
        let mut excerpt = Excerpt::default();
        let mut files: Vec<&FileId> = Vec::new();
        for drawn in places {
            if !files.contains(&&drawn.place.file) {
                files.push(&drawn.place.file);
            }
        }
        for file in files {
            let Ok(text) = archive.text(file) else { continue };
            let mut marks: Vec<Mark<'_>> = Vec::new();
            for (index, drawn) in places.iter().enumerate().filter(|(_, drawn)| drawn.place.file == *file) {
                let (start, _) = spots(archive, drawn.place);
                let line = text.position(start.byte, Encoding::Utf32).line;
                let whole = text.line_span(line);
                let from = start.byte.clamp(whole.start, whole.end);
                let span = Span::new(from, drawn.place.span.end.clamp(from, whole.end));
                let column = start.column.saturating_sub(1);
                marks.push(Mark { line, column, span, says: drawn.says, primary: index == 0 });
            }
            let name: Arc<str> = Arc::from(&*clean(&name(file)));
            let mut kept: Vec<u32> = Vec::new();
            for mark in &marks {
                let last = text.lines().saturating_sub(1);
                kept.extend(mark.line.saturating_sub(AROUND)..=mark.line.saturating_add(AROUND).min(last));
            }
            kept.sort_unstable();
            kept.dedup();
            own_first(&mut kept, marks.iter().find(|mark| mark.primary).map(|mark| mark.line));
            for number in kept {
                let of_line: Vec<&Mark<'_>> = marks.iter().filter(|mark| mark.line == number).collect();
                excerpt.push(&text, number, &name, &of_line, width);
            }
        }
        excerpt
    }

    /// Adds a line of a file, cut to the width around its marks.
    fn push(&mut self, text: &Text, number: u32, name: &Arc<str>, marks: &[&Mark<'_>], width: usize) {
        let start = self.text.len();
        self.lines.push(Line { start, number, name: name.clone() });
        // The line's number and the bar before it.
        let room = width.saturating_sub(digits(number) + 8).max(LEAST_LABEL);
        let cut = Cut::of(text, text.line_span(number), marks.iter().map(|mark| mark.span.start).min(), room);
        self.text.push_str(&cut.text);
        self.text.push('\n');
        for mark in marks {
            let (from, to) = (cut.offset(mark.span.start), cut.offset(mark.span.end));
            let (column, wide) = (columns(&cut.text[..from]), columns(&cut.text[from..to]));
            let middle = column + wide / 2;
            let (from, to) = (start + from, start + to);
            match self.labels.iter_mut().find(|label| (label.start, label.end) == (from, to)) {
                Some(label) => {
                    label.primary |= mark.primary;
                    label.says.extend(mark.says.map(|says| clean(says).into_owned()));
                }
                None => self.labels.push(Label {
                    start: from,
                    end: to,
                    middle: middle + digits(number) + 8,
                    column: mark.column,
                    says: mark.says.iter().map(|says| clean(says).into_owned()).collect(),
                    primary: mark.primary,
                }),
            }
        }
    }

    /// The labels to draw, wrapped to the width.
    pub(super) fn labels(&self, width: usize) -> Vec<LabeledSpan> {
        let labels = self.labels.iter().map(|label| {
            let room = width.saturating_sub(label.middle + 4).max(LEAST_LABEL);
            let says = label.says.iter().flat_map(|says| textwrap::wrap(says, room));
            let says: Vec<String> = says.map(std::borrow::Cow::into_owned).collect();
            let says = (!says.is_empty()).then(|| says.join("\n"));
            let span = SourceSpan::from(label.start..label.end);
            if label.primary {
                LabeledSpan::new_primary_with_span(says, span)
            } else {
                LabeledSpan::new_with_span(says, span)
            }
        });
        labels.collect()
    }

    /// The line of the excerpt that an offset lies in.
    fn line_at(&self, offset: usize) -> Option<usize> {
        let after = self.lines.partition_point(|line| line.start <= offset);
        after.checked_sub(1).filter(|_| offset < self.text.len())
    }

    /// Whether a line of the excerpt follows on the one before it in its file.
    fn follows(&self, line: usize) -> bool {
        let Some(before) = line.checked_sub(1).and_then(|before| self.lines.get(before)) else { return false };
        self.lines.get(line).is_some_and(|line| before.number + 1 == line.number && before.name == line.name)
    }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let last = span.offset() + span.len().saturating_sub(1);
        let lines = self.line_at(span.offset()).zip(self.line_at(last));
        let (mut first, mut last) = lines.ok_or(MietteError::OutOfBounds)?;
        if (first + 1..=last).any(|line| !self.follows(line)) {
            return Err(MietteError::OutOfBounds);
        }
        for _ in 0..before {
            first -= usize::from(self.follows(first));
        }
        for _ in 0..after {
            last += usize::from(self.follows(last + 1));
        }
        let line = self.lines.get(first).ok_or(MietteError::OutOfBounds)?;
        let end = self.lines.get(last + 1).map_or(self.text.len(), |line| line.start);
        // Asked for the span alone, miette wants to know the column for the header.
        let label = self.labels.iter().find(|label| label.start == span.offset());
        let column = label.filter(|_| before == 0).map_or(0, |label| label.column as usize);
        Ok(Box::new(MietteSpanContents::new_named(
            line.name.to_string(),
            self.text.get(line.start..end).unwrap_or_default().as_bytes(),
            SourceSpan::from(line.start..end),
            line.number as usize,
            column,
            last - first + 1,
        )))
    }
}

/// A line as it is shown: cut to the width, and every character in it harmless.
#[derive(Debug, Default)]
struct Cut {
    text: String,
    /// Bytes of the file and of `text` that belong together, in order: at each character.
    at: Vec<(u32, usize)>,
}

impl Cut {
    /// Cuts `line` to `room` columns so that the place at `first` can be seen.
    fn of(text: &Text, line: Span, first: Option<u32>, room: usize) -> Cut {
        let first = first.unwrap_or(line.start);
        // No more than this much of a line can matter, however long it is.
        let most = u32::try_from(room.saturating_mul(8)).unwrap_or(u32::MAX);
        let window = Span::new(line.start.max(first.saturating_sub(most)), line.end.min(first.saturating_add(most)));
        let whole = text.slice(window);
        let marked = window.start == 0 && whole.starts_with('\u{feff}');
        let before = text.slice(Span::new(window.start, first));
        let all = columns(whole);
        let cut_left = window.start > line.start || (all > room && columns(before) + LEAST_LABEL > room);
        let cut_right = window.end < line.end || all > room;
        let mut skip = if cut_left { columns(before).saturating_sub(BEFORE) } else { 0 };
        let mut cut = Cut::default();
        if cut_left {
            cut.text.push('…');
        }
        let mut used = usize::from(cut_left);
        let mut offset = window.start;
        for (index, c) in whole.chars().enumerate() {
            let shown = match c {
                '\u{feff}' if marked && index == 0 => String::new(),
                '\t' => c.to_string(),
                c => shown(c).unwrap_or_else(|| c.to_string()),
            };
            let wide = if c == '\t' { TAB - used % TAB } else { display_width(&shown) };
            if skip > 0 {
                skip = skip.saturating_sub(wide);
            } else if cut_right && used + wide >= room {
                cut.at.push((offset, cut.text.len()));
                cut.text.push('…');
                break;
            } else {
                cut.at.push((offset, cut.text.len()));
                cut.text.push_str(&shown);
                used += wide;
            }
            offset += c.len_utf8() as u32;
        }
        cut.at.push((offset.max(window.end), cut.text.len()));
        cut
    }

    /// Where a byte of the file is shown.
    fn offset(&self, byte: u32) -> usize {
        let at = self.at.partition_point(|(offset, _)| *offset < byte);
        self.at.get(at).or(self.at.last()).map_or(0, |(_, at)| *at)
    }
}

/// The columns that a text takes, tabs among them.
fn columns(text: &str) -> usize {
    let mut column = 0;
    let mut letters = [0; 4];
    for c in text.chars() {
        column += match c {
            '\t' => TAB - column % TAB,
            c => match shown(c) {
                Some(shown) => display_width(&shown),
                None => display_width(c.encode_utf8(&mut letters)),
            },
        };
    }
    column
}

/// Puts the run of lines that holds the finding's own line before the others of its file.
fn own_first(lines: &mut [u32], own: Option<u32>) {
    let Some(at) = own.and_then(|own| lines.iter().position(|line| *line == own)) else { return };
    let breaks = |at: usize| lines.get(at).zip(lines.get(at + 1)).is_none_or(|(line, next)| line + 1 != *next);
    let first = (0..at).rev().find(|before| breaks(*before)).map_or(0, |before| before + 1);
    let last = (at..lines.len()).find(|at| breaks(*at)).unwrap_or(at);
    lines[..=last].rotate_left(first);
}

/// How many digits a line's number has.
fn digits(number: u32) -> usize {
    number.saturating_add(1).ilog10() as usize + 1
}
