//! `syntax`: a text that KDL can't read.

use super::vocabulary_error;
use crate::findings::{FixKind, Level, Wording, said};
use crate::rules::{ANY_FILE, Context, Family, FixAvailability, Rule, Sink};
use crate::source::Span;
use crate::syntax::{Entry, Part, Value};
use crate::words::{Measures, value_word_of};

/// The rule.
pub(crate) const RULE: Rule = Rule::new("syntax", Family::Language, Level::Error, include_str!("syntax.md"), look)
    .fixes(FixAvailability::Sometimes)
    .never_waived()
    .safety()
    .at(ANY_FILE);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    not_utf8(context, sink);
    for error in context.tree.errors() {
        let message = match &error.help {
            Some(help) => format!("{}: {help}", error.message.trim_end_matches('.')),
            None => error.message.clone(),
        };
        let written = context.text.slice(error.span);
        let said =
            said!("{message}", message = Wording(&message)).with("what", error.kind.word()).with("written", written);
        let mut finding = RULE.finding(context.here(error.span), said);
        if let Some(whole) = thousands(written) {
            // With three digits behind it a comma may be the point of a decimal, or set off thousands.
            let part = written.replace(',', ".");
            finding
                .say(said!("{written} is no number: write a decimal with a point, thousands without a comma", written));
            for number in [part, whole].into_iter().filter(|number| can_be_meant(context, error.span, number)) {
                let title = format!("write {number}");
                finding.fixes.extend(vocabulary_error::fix(
                    context,
                    &title,
                    FixKind::Suggested,
                    &[(error.span, number)],
                ));
            }
        } else if let Some((title, edits)) = &error.fix {
            finding.fixes.extend(vocabulary_error::fix(context, title, FixKind::Safe, edits));
        }
        sink.find(finding);
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
fn can_be_meant(context: &Context<'_>, span: Span, number: &str) -> bool {
    let Part::Value(entry) = context.tree.at(span.start).part else { return true };
    let (Some(word), Ok(number)) = (value_word_of(context.tree, entry), number.parse()) else { return true };
    let entry = Entry { value: Value::Float(number), ..context.tree.entry(entry) };
    word.read(&entry, Measures::of(context.tree)).is_ok()
}

/// A file's bytes that are no text: one finding, at the first of them. The tree sees only what stands for them, so it is
/// the text that knows.
fn not_utf8(context: &Context<'_>, sink: &mut Sink<'_>) {
    if !context.text.is_lossy() {
        return;
    }
    let stands_for_it = char::REPLACEMENT_CHARACTER;
    let start = context.text.as_str().find(stands_for_it).unwrap_or_default() as u32;
    let span = Span::new(start, start + stands_for_it.len_utf8() as u32);
    let message =
        "the file is not UTF-8 from here on, so its text can't be trusted and no fix is offered: save it as UTF-8";
    sink.find(
        RULE.finding(context.here(span), said!("{message}", message = Wording(message)).with("what", "not-utf-8")),
    );
}
