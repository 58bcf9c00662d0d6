//! Findings drawn under the values that cause them, for a person at a terminal.

mod excerpt;

use std::fmt;
use std::io::{self, Write};

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, Severity, SourceCode};
use miette::{ThemeCharacters, ThemeStyles};

use self::excerpt::{AROUND, Drawn, Excerpt, TAB};
use super::{Listed, Sheet, Summary, statistics};
use crate::CAUTION;
use crate::findings::{Finding, Fix, FixKind, Level};
use crate::source::clean::clean;

/// How many related places are drawn; more are counted.
const MOST_RELATED: usize = 8;
/// The narrowest and the widest drawing, in columns.
const WIDTHS: std::ops::RangeInclusive<usize> = 50..=140;

/// How a sheet is drawn.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Drawing {
    /// Columns that there is room for.
    pub width: usize,
    /// Whether colours are wanted.
    pub colour: bool,
    /// Whether the facts that rules lacked are listed.
    pub lacking: bool,
    /// Whether the rules and the files that most findings are of are told below them.
    pub statistics: bool,
}

/// Draws a sheet: every finding under its value but those accepted before, then the numbers, what the house has lowered,
/// what was accepted and is gone, and the caution.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub fn write(out: &mut dyn Write, sheet: &Sheet, drawing: Drawing) -> io::Result<()> {
    let width = drawing.width.clamp(*WIDTHS.start(), *WIDTHS.end());
    let handler = handler(width, drawing.colour);
    let mut drawn = String::new();
    let (listed, left) = sheet.shown();
    for listed in by_gravity(listed) {
        for finding in listed.findings.iter().filter(|finding| !finding.accepted) {
            drawn.clear();
            let shown = Shown::new(sheet, &listed, finding, width);
            let told = handler.clone().with_footer(shown.below());
            // A string takes whatever is written to it.
            let _ = if shown.below().is_empty() {
                handler.render_report(&mut drawn, &shown)
            } else {
                told.render_report(&mut drawn, &shown)
            };
            writeln!(out, "{}\n", drawn.trim_end())?;
        }
    }
    let wrapped = |text: &str| textwrap::fill(&clean(text), width);
    if drawing.statistics {
        statistics::write(out, sheet)?;
        writeln!(out)?;
    }
    for told in if drawing.lacking { sheet.told_lacking() } else { Vec::new() } {
        writeln!(out, "{}", wrapped(&told))?;
    }
    writeln!(out, "{}", wrapped(&Summary::of(sheet).sentence()))?;
    for said in
        sheet.told_unlisted(left).iter().chain(&sheet.told_left_out()).chain(&sheet.lowered()).chain(&sheet.told_gone())
    {
        writeln!(out, "{}", wrapped(said))?;
    }
    writeln!(out, "{}", wrapped(CAUTION))
}

/// Files with errors first, and in a file its errors: what stands first is read.
fn by_gravity(mut all: Vec<Listed<'_>>) -> Vec<Listed<'_>> {
    let is_grave = |finding: &Finding| finding.counts() && finding.level == Level::Error;
    for listed in &mut all {
        listed.findings.sort_by_key(|finding| !is_grave(finding));
    }
    all.sort_by_key(|listed| !listed.findings.first().is_some_and(|first| is_grave(first)));
    all
}

fn handler(width: usize, colour: bool) -> GraphicalReportHandler {
    let characters = ThemeCharacters {
        error: "error:".to_owned(),
        warning: "warning:".to_owned(),
        advice: "note:".to_owned(),
        ..ThemeCharacters::unicode()
    };
    // Colours tell the level and nothing else: what is pointed at is pointed at by signs.
    let plain = ThemeStyles::none();
    let styles = if colour { ThemeStyles { highlights: plain.highlights, ..ThemeStyles::ansi() } } else { plain };
    GraphicalReportHandler::new_themed(GraphicalTheme { characters, styles })
        .with_width(width)
        .with_context_lines(AROUND as usize)
        .tab_width(TAB)
        .with_links(false)
        .without_syntax_highlighting()
}

/// A finding as miette asks for it.
#[derive(Debug)]
struct Shown<'a> {
    finding: &'a Finding,
    excerpt: Excerpt,
    width: usize,
}

impl<'a> Shown<'a> {
    fn new(sheet: &Sheet, listed: &Listed<'_>, finding: &'a Finding, width: usize) -> Shown<'a> {
        let mut places = vec![Drawn { place: &finding.place, says: None }];
        let related = finding.related.iter().take(MOST_RELATED);
        places.extend(related.map(|related| Drawn { place: &related.place, says: Some(&related.message) }));
        let name = |file: &_| sheet.name(listed.archive, file);
        Shown { finding, excerpt: Excerpt::of(listed.archive, &places, &name, width), width }
    }

    /// What stands below the drawing: the working, the waiver, and how much was left out.
    fn below(&self) -> String {
        let mut below: Vec<String> = Vec::new();
        if let Some(waived) = &self.finding.waived {
            below.push(format!("waived: {}", clean(&waived.because)));
        }
        if !self.finding.working.is_empty() {
            below.push("working:".to_owned());
        }
        for step in &self.finding.working {
            let parts = [&step.formula, &step.numbers, &step.result];
            let parts: Vec<_> = parts.into_iter().filter(|part| !part.is_empty()).map(|part| clean(part)).collect();
            below.push(format!("  {}", parts.join(" = ")));
        }
        let left_out = self.finding.related.len().saturating_sub(MOST_RELATED);
        if left_out > 0 {
            below.push(format!("and {left_out} more places take part"));
        }
        below.join("\n")
    }
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&clean(&self.finding.message))
    }
}

impl std::error::Error for Shown<'_> {}

impl Diagnostic for Shown<'_> {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        let waived = if self.finding.waived.is_some() { " (waived)" } else { "" };
        Some(Box::new(format!("{}{waived}", clean(&self.finding.rule))))
    }

    fn severity(&self) -> Option<Severity> {
        Some(match self.finding.level {
            Level::Error => Severity::Error,
            Level::Warning => Severity::Warning,
            Level::Note => Severity::Advice,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        let said: Vec<String> = self.finding.fixes.iter().map(mend).collect();
        (!said.is_empty()).then(|| Box::new(said.join("\n")) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.excerpt)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let labels = self.excerpt.labels(self.width);
        (!labels.is_empty()).then(|| Box::new(labels.into_iter()) as Box<dyn Iterator<Item = LabeledSpan>>)
    }
}

/// A mend, and whether it needs a person to agree to it.
fn mend(fix: &Fix) -> String {
    let title = clean(&fix.title);
    match fix.kind {
        FixKind::Safe => title.into_owned(),
        FixKind::Suggested => format!("{title} (a suggestion)"),
    }
}
