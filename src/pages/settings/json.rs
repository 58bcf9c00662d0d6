//! Settings for other programs; `schema/settings.schema.json` says what stands where.

use std::io::{self, Write};

use serde::Serialize;

use super::Page;
use crate::CAUTION;
use crate::findings::Level;
use crate::pages::json::pretty;
use crate::source::Place;
use crate::words::Amount;

/// The version of the shape that is written.
pub(crate) const VERSION: u32 = 1;

/// Writes what a file is held to as JSON.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, page: &Page<'_>) -> io::Result<()> {
    let settings = &page.settings;
    let set = |place: &Place| {
        let super::Where { path, line, column } = page.place(place);
        Set { path, line, column }
    };
    let limits = settings.limits.iter().map(|limit| Limit {
        name: limit.limit.words.trim_end_matches('='),
        unit: limit.limit.unit(),
        value: limit.value.as_ref().and_then(Value::of),
        set: limit.place.as_ref().map(set),
    });
    let rules = settings.rules.iter().map(|of| Rule {
        rule: of.rule.slug,
        level: of.rule.level,
        house: of
            .levels
            .iter()
            .map(|(level, holds)| Lifted {
                level: level.level.value,
                holds: *holds,
                because: level.because.as_ref().map(|because| &*because.value),
                set: set(&level.place),
            })
            .collect(),
    });
    let waivers = settings.waivers.iter().map(|waiver| Waiver {
        rule: &waiver.rule.value,
        because: waiver.reason(),
        set: set(&waiver.place),
    });
    let shown = Shown {
        version: VERSION,
        caution: CAUTION,
        path: page.name(&page.file),
        limits: limits.collect(),
        rules: rules.collect(),
        waivers: waivers.collect(),
        accepted: page.accepted(),
    };
    pretty(out, &shown)
}

#[derive(Serialize)]
struct Shown<'a> {
    version: u32,
    caution: &'a str,
    path: String,
    limits: Vec<Limit<'a>>,
    rules: Vec<Rule<'a>>,
    waivers: Vec<Waiver<'a>>,
    accepted: usize,
}

#[derive(Serialize)]
struct Limit<'a> {
    name: &'a str,
    unit: &'a str,
    value: Option<Value<'a>>,
    set: Option<Set>,
}

/// A limit's value: a number, or a word.
#[derive(Serialize)]
#[serde(untagged)]
enum Value<'a> {
    Number(f64),
    Word(&'a str),
    YesNo(bool),
}

impl<'a> Value<'a> {
    fn of(amount: &'a Amount) -> Option<Value<'a>> {
        let number = amount.number().map(Value::Number);
        number.or_else(|| amount.text().map(Value::Word)).or_else(|| amount.yes().map(Value::YesNo))
    }
}

#[derive(Serialize)]
struct Rule<'a> {
    rule: &'a str,
    level: Level,
    house: Vec<Lifted<'a>>,
}

#[derive(Serialize)]
struct Lifted<'a> {
    level: Level,
    holds: bool,
    because: Option<&'a str>,
    set: Set,
}

#[derive(Serialize)]
struct Waiver<'a> {
    rule: &'a str,
    because: Option<&'a str>,
    set: Set,
}

#[derive(Serialize)]
struct Set {
    path: String,
    line: u32,
    column: u32,
}
