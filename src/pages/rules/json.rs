//! Rules for other programs; `schema/rules.schema.json` says what stands where.

use std::io::{self, Write};

use serde::Serialize;

use super::{Page, fixes, statuses};
use crate::CAUTION;
use crate::pages::json::pretty;
use crate::rules::Rule;

/// The version of the shape that is written.
pub(crate) const VERSION: u32 = 1;

/// Writes rules as JSON, their pages among them.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, rules: &[&Rule]) -> io::Result<()> {
    pretty(out, &List { version: VERSION, caution: CAUTION, rules: rules.iter().map(|rule| one(rule)).collect() })
}

#[derive(Serialize)]
struct List<'a> {
    version: u32,
    caution: &'a str,
    rules: Vec<One<'a>>,
}

#[derive(Serialize)]
struct One<'a> {
    rule: &'a str,
    family: &'static str,
    level: &'a str,
    since: &'a str,
    status: &'a str,
    fixes: &'a str,
    waivable: bool,
    safety: bool,
    statuses: Vec<&'a str>,
    summary: String,
    page: Vec<Part>,
}

#[derive(Serialize)]
struct Part {
    heading: String,
    markdown: String,
}

fn one<'a>(rule: &'a Rule) -> One<'a> {
    let page = Page::of(rule);
    One {
        rule: rule.slug,
        family: rule.family.word(),
        level: rule.level.word(),
        since: rule.since,
        status: rule.status.word(),
        fixes: fixes(rule),
        waivable: rule.waivable,
        safety: rule.safety,
        statuses: statuses(rule),
        summary: page.summary,
        page: page.parts.into_iter().map(|(heading, markdown)| Part { heading, markdown }).collect(),
    }
}
