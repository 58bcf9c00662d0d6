//! Rules for people.

use std::io::{self, Write};

use similar::TextDiff;
use textwrap::Options;
use textwrap::core::display_width;

use super::{Page, fixes, statuses};
use crate::CAUTION;
use crate::rules::Rule;

/// Writes the list of rules, by family, its lines broken at `width`.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn list(out: &mut dyn Write, rules: &[Rule], width: usize) -> io::Result<()> {
    let slugs = rules.iter().map(|rule| display_width(rule.slug)).max().unwrap_or(0);
    let mut last = None;
    for rule in rules {
        if last != Some(rule.family) {
            if last.is_some() {
                writeln!(out)?;
            }
            writeln!(out, "{:?}", rule.family)?;
            last = Some(rule.family);
        }
        let head = format!("  {:<slugs$}  {:<7}  ", rule.slug, rule.level.word());
        let indent = " ".repeat(display_width(&head));
        let options = Options::new(width.max(indent.len() + 20)).initial_indent(&head).subsequent_indent(&indent);
        writeln!(out, "{}", textwrap::fill(&plain(&Page::of(rule).summary), options))?;
    }
    writeln!(out, "\n{} rules. `leadsman explain RULE` shows a rule's page.", rules.len())?;
    writeln!(out, "{}", textwrap::fill(CAUTION, width.max(20)))
}

/// Writes the page of a rule, its lines broken at `width`.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn page(out: &mut dyn Write, rule: &Rule, width: usize) -> io::Result<()> {
    let page = Page::of(rule);
    writeln!(
        out,
        "{}: {}, {}, {} since {}",
        rule.slug,
        rule.level.word(),
        rule.family.word(),
        rule.status.word(),
        rule.since
    )?;
    writeln!(out, "{}", textwrap::fill(&plain(&page.summary), width.max(20)))?;
    let example = page.parts.iter().find(|(heading, _)| heading == "Example").map(|(_, text)| &**text);
    for (heading, text) in &page.parts {
        writeln!(out, "\n{heading}")?;
        match example.filter(|_| heading == "Mended").and_then(|example| mended(example, text)) {
            Some(lines) => lines.iter().try_for_each(|line| writeln!(out, "{}", format!("    {line}").trim_end()))?,
            None => part(out, text, width)?,
        }
    }
    writeln!(out, "\nWhere it looks")?;
    let looks = match statuses(rule)[..] {
        [] => "It looks at any file.".to_owned(),
        ref some => format!("It looks at plans that are {}.", listed(some)),
    };
    let fixes = format!("Its findings come with fixes: {}.", fixes(rule));
    let waived = if rule.waivable { "A plan may waive it with `allow`." } else { "No plan may waive it." };
    let lowered = if rule.safety { " A house that lowers it says why, and every run prints that." } else { "" };
    for line in [looks, fixes, format!("{waived}{lowered}")] {
        writeln!(out, "{}", indented(&plain(&line), width))?;
    }
    writeln!(out, "\n{}", textwrap::fill(CAUTION, width.max(20)))
}

/// Lines around what is mended.
const AROUND: usize = 1;

/// What mending an example changes, line by line: taken out after `-`, put in after `+`; `None` where the two parts hold more
/// than one text each.
fn mended(example: &str, mended: &str) -> Option<Vec<String>> {
    let only = |part: &str| -> Option<String> {
        let (before, rest) = part.split_once("```kdl\n")?;
        let (text, behind) = rest.split_once("```")?;
        (before.trim().is_empty() && behind.trim().is_empty()).then(|| text.to_owned())
    };
    let (before, after) = (only(example)?, only(mended)?);
    let diff = TextDiff::from_lines(&before, &after);
    let mut lines = Vec::new();
    for (number, group) in diff.grouped_ops(AROUND).iter().enumerate() {
        if number > 0 {
            lines.push("…".to_owned());
        }
        let changes = group.iter().flat_map(|op| diff.iter_changes(op));
        for change in changes.filter(|change| !change.value().trim().is_empty()) {
            lines.push(format!("{} {}", change.tag(), change.value().trim_end()).trim_end().to_owned());
        }
    }
    (!lines.is_empty()).then_some(lines)
}

/// A part's paragraphs are filled; what stands in a fence is written as it is.
fn part(out: &mut dyn Write, text: &str, width: usize) -> io::Result<()> {
    let (mut paragraph, mut fenced, mut begun) = (String::new(), false, false);
    for line in text.lines().chain([""]) {
        if fenced && !line.starts_with("```") {
            let indent = if line.is_empty() { "" } else { "    " };
            writeln!(out, "{indent}{line}")?;
            continue;
        }
        let ends = line.starts_with("```") || line.trim().is_empty();
        if !ends {
            paragraph.push_str(line);
            paragraph.push(' ');
        } else if !paragraph.is_empty() {
            if begun {
                writeln!(out)?;
            }
            writeln!(out, "{}", indented(&plain(paragraph.trim_end()), width))?;
            (begun, paragraph) = (true, String::new());
        }
        if let Some(info) = line.strip_prefix("```") {
            fenced = !fenced;
            if fenced && begun {
                writeln!(out)?;
            }
            begun = true;
            // A file's name stands behind the fence of what isn't the plan.
            if let Some(name) = info.strip_prefix("kdl ").filter(|_| fenced) {
                writeln!(out, "  {name}:")?;
            }
        }
    }
    Ok(())
}

fn indented(text: &str, width: usize) -> String {
    textwrap::fill(text, Options::new(width.max(20)).initial_indent("  ").subsequent_indent("  "))
}

/// Text without Markdown's marks.
fn plain(text: &str) -> String {
    text.replace("**", "").replace('`', "")
}

fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}
