//! Findings for other programs; `schema/check.schema.json` says what stands where.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{CharEscape, Formatter, PrettyFormatter};

use super::{Listed, Sheet, Spot, Summary, spots};
use crate::CAUTION;
use crate::archive::LeftOut;
use crate::findings::{Data, Entry, Finding, FixKind, Level, Step};
use crate::rules::Fact;
use crate::source::Place;
use crate::source::clean::shown;

/// The version of the shape that is written.
pub const VERSION: u32 = 1;

/// Writes a sheet as JSON.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub fn write(out: &mut dyn Write, sheet: &Sheet) -> io::Result<()> {
    let (listed, not_shown) = sheet.shown();
    let files = listed.iter().map(|listed| file(sheet, listed)).collect();
    let summary = Summary::of(sheet);
    let gone = sheet.gone().into_iter().map(once_accepted).collect();
    let unclear = sheet.unclear().into_iter().map(once_accepted).collect();
    let lacking = sheet.lacking().into_iter().map(|(archive, Fact { place, fact, rules })| {
        let (start, end) = spots(archive, place);
        Lacking { path: sheet.name(archive, &place.file), start: start.into(), end: end.into(), fact, rules }
    });
    let lacking = lacking.collect();
    let left_out = sheet.left_out().into_iter().map(|(path, why)| Left { path, why }).collect();
    let not_selected = sheet.unselected().values().sum();
    let summary = Numbers { not_selected, not_shown, ..summary.into() };
    let page = Page {
        version: VERSION,
        caution: CAUTION,
        files,
        summary,
        lacking,
        left_out,
        lowered: sheet.lowered(),
        gone,
        unclear,
    };
    pretty(out, &page)
}

fn once_accepted((path, entry): (String, &Entry)) -> OnceAccepted<'_> {
    let Entry { path: _, names, text, rule, data, numbers, level, count } = entry;
    let (data, numbers) = (data.as_ref(), numbers.as_deref());
    OnceAccepted { path, names, text, rule, data, numbers, level: *level, count: *count }
}

/// A number without the dust of its last digits.
pub(super) fn plain(number: f64) -> f64 {
    let plain = (number * 1e6).round() / 1e6;
    // There is no minus nothing.
    if plain == 0.0 { 0.0 } else { plain }
}

/// A page of the dives of a plan.
#[derive(Serialize)]
pub(super) struct OfDives<T> {
    /// The version of its shape.
    pub version: u32,
    /// What everybody is told.
    pub caution: &'static str,
    /// The dives.
    pub dives: Vec<T>,
}

/// Writes a page as JSON that people can read too, and ends the line.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(super) fn pretty(out: &mut dyn Write, page: &impl Serialize) -> io::Result<()> {
    let mut serializer = serde_json::Serializer::with_formatter(&mut *out, Visible(PrettyFormatter::new()));
    page.serialize(&mut serializer)?;
    writeln!(out)
}

#[derive(Serialize)]
struct Page<'a> {
    version: u32,
    caution: &'a str,
    files: Vec<File<'a>>,
    summary: Numbers,
    lacking: Vec<Lacking<'a>>,
    left_out: Vec<Left>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    lowered: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    gone: Vec<OnceAccepted<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    unclear: Vec<OnceAccepted<'a>>,
}

#[derive(Serialize)]
struct Lacking<'a> {
    path: String,
    start: At,
    end: At,
    fact: &'a str,
    rules: &'a [&'static str],
}

#[derive(Serialize)]
struct Left {
    path: String,
    why: LeftOut,
}

#[derive(Serialize)]
struct OnceAccepted<'a> {
    path: String,
    names: &'a [String],
    text: &'a str,
    rule: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    data: Option<&'a Data>,
    #[serde(skip_serializing_if = "Option::is_none")]
    numbers: Option<&'a str>,
    level: Level,
    count: usize,
}

#[derive(Serialize)]
struct File<'a> {
    path: String,
    findings: Vec<Found<'a>>,
}

#[derive(Serialize)]
struct Found<'a> {
    rule: &'a str,
    level: Level,
    message: &'a str,
    data: &'a Data,
    start: At,
    end: At,
    related: Vec<Related<'a>>,
    working: &'a [Step],
    fixes: Vec<Fix<'a>>,
    waived: Option<Reason<'a>>,
    accepted: bool,
}

#[derive(Serialize)]
struct Reason<'a> {
    because: &'a str,
}

#[derive(Serialize)]
struct At {
    line: u32,
    column: u32,
    byte: u32,
}

#[derive(Serialize)]
struct Related<'a> {
    path: String,
    start: At,
    end: At,
    message: &'a str,
}

#[derive(Serialize)]
struct Fix<'a> {
    title: &'a str,
    kind: FixKind,
    edits: Vec<Change<'a>>,
}

#[derive(Serialize)]
struct Change<'a> {
    path: String,
    start: At,
    end: At,
    text: &'a str,
}

#[derive(Serialize)]
struct Numbers {
    files: usize,
    errors: usize,
    warnings: usize,
    notes: usize,
    waived: usize,
    accepted: usize,
    rules_looked: usize,
    rules_lacking_facts: usize,
    facts_lacking: usize,
    dives_planned: usize,
    dives_simulated: usize,
    files_unread: usize,
    files_left_out: usize,
    not_selected: usize,
    not_shown: usize,
}

impl From<Summary> for Numbers {
    fn from(summary: Summary) -> Numbers {
        let Summary { files, errors, warnings, notes, waived, accepted, rules_looked, rules_lacking_facts, .. } =
            summary;
        let Summary { facts_lacking, dives_planned, dives_simulated, files_unread, left_out, .. } = summary;
        Numbers {
            files,
            errors,
            warnings,
            notes,
            waived,
            accepted,
            rules_looked,
            rules_lacking_facts,
            facts_lacking,
            dives_planned,
            dives_simulated,
            files_unread,
            files_left_out: left_out.each().map(|(_, count)| count).sum(),
            not_selected: 0,
            not_shown: 0,
        }
    }
}

impl From<Spot> for At {
    fn from(spot: Spot) -> At {
        At { line: spot.line, column: spot.column, byte: spot.byte }
    }
}

fn file<'a>(sheet: &Sheet, listed: &'a Listed<'a>) -> File<'a> {
    let findings = listed.findings.iter().map(|finding| found(sheet, listed, finding)).collect();
    File { path: sheet.name(listed.archive, &listed.file), findings }
}

fn found<'a>(sheet: &Sheet, listed: &Listed<'_>, finding: &'a Finding) -> Found<'a> {
    let at = |place: &Place| {
        let (start, end) = spots(listed.archive, place);
        (sheet.name(listed.archive, &place.file), At::from(start), At::from(end))
    };
    let related = finding.related.iter().map(|related| {
        let (path, start, end) = at(&related.place);
        Related { path, start, end, message: &related.message }
    });
    let fixes = finding.fixes.iter().map(|fix| {
        let edits = fix.edits.iter().map(|edit| {
            let (path, start, end) = at(&edit.place);
            Change { path, start, end, text: &edit.text }
        });
        Fix { title: &fix.title, kind: fix.kind, edits: edits.collect() }
    });
    let (_, start, end) = at(&finding.place);
    Found {
        rule: &finding.rule,
        level: finding.level,
        message: &finding.message,
        data: &finding.data,
        start,
        end,
        related: related.collect(),
        working: &finding.working,
        fixes: fixes.collect(),
        waived: finding.waived.as_ref().map(|waived| Reason { because: &waived.because }),
        accepted: finding.accepted,
    }
}

/// Writes what a terminal might obey, or a reader not see, as `\u…`: the same string for a program.
struct Visible(PrettyFormatter<'static>);

impl Formatter for Visible {
    fn write_string_fragment<W: ?Sized + Write>(&mut self, writer: &mut W, fragment: &str) -> io::Result<()> {
        let mut plain = 0;
        for (at, c) in fragment.char_indices().filter(|(_, c)| shown(*c).is_some()) {
            writer.write_all(&fragment.as_bytes()[plain..at])?;
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                write!(writer, "\\u{unit:04x}")?;
            }
            plain = at + c.len_utf8();
        }
        writer.write_all(&fragment.as_bytes()[plain..])
    }

    fn write_char_escape<W: ?Sized + Write>(&mut self, writer: &mut W, escape: CharEscape) -> io::Result<()> {
        self.0.write_char_escape(writer, escape)
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(writer, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array_value(writer)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(writer, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object_value(writer)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object_value(writer)
    }
}
