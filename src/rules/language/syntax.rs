//! `syntax`: a text that KDL can't read.

use super::slip;
use crate::findings::{FixKind, Level};
use crate::rules::{Family, Look, Mends, Out, Rule};
use crate::source::Span;
use crate::syntax::{Entry, FaultKind, Part, Value};
use crate::words::{Measures, value_word_of};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "syntax",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: false,
    safety: true,
    statuses: &[],
    page: include_str!("syntax.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    not_utf8(look, out);
    for fault in look.tree.faults() {
        let message = match &fault.help {
            Some(help) => format!("{}: {help}", fault.message.trim_end_matches('.')),
            None => fault.message.clone(),
        };
        let mut finding = RULE.finding(look.here(fault.span), message);
        let written = look.text.slice(fault.span);
        if let Some(whole) = thousands(written) {
            // With three digits behind it a comma may be the point of a decimal, or set off thousands.
            let part = written.replace(',', ".");
            finding.message =
                format!("{written} is no number: write a decimal with a point, thousands without a comma");
            for number in [part, whole].into_iter().filter(|number| can_be_meant(look, fault.span, number)) {
                let title = format!("write {number}");
                finding.fixes.extend(slip::fix(look, &title, FixKind::Suggested, &[(fault.span, number)]));
            }
        } else if let Some((title, edits)) = &fault.mend {
            finding.fixes.extend(slip::fix(look, title, FixKind::Safe, edits));
        }
        out.find(finding);
    }
}

/// The whole number that a text with a comma before its last three digits may be.
fn thousands(written: &str) -> Option<String> {
    let (whole, part) = written.split_once(',')?;
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    (is_digits(whole) && !whole.starts_with('0') && is_digits(part) && part.len() == 3)
        .then(|| format!("{whole}{part}"))
}

/// Whether a number could be meant where the text has something else; `true` where nobody knows what is.
fn can_be_meant(look: &Look<'_>, span: Span, number: &str) -> bool {
    let Part::Value(entry) = look.tree.at(span.start).part else { return true };
    let (Some(word), Ok(number)) = (value_word_of(look.tree, entry), number.parse()) else { return true };
    let entry = Entry { value: Value::Float(number), ..look.tree.entry(entry) };
    word.read(&entry, Measures::of(look.tree)).is_ok()
}

/// A file's bytes that are no text: one finding, at the first of them. The tree sees only what stands for them, so it is
/// the text that knows.
fn not_utf8(look: &Look<'_>, out: &mut Out<'_>) {
    if !look.text.is_lossy() || look.tree.faults().iter().any(|fault| fault.kind == FaultKind::NotUtf8) {
        return;
    }
    let stands_for_it = char::REPLACEMENT_CHARACTER;
    let start = look.text.as_str().find(stands_for_it).unwrap_or_default() as u32;
    let span = Span::new(start, start + stands_for_it.len_utf8() as u32);
    let message =
        "the file is not UTF-8 from here on, so its text can't be trusted and no fix is offered: save it as UTF-8";
    out.find(RULE.finding(look.here(span), message));
}
