//! `waiver-unused`: an `allow` that covers no finding.

use crate::findings::{Finding, Fix, FixKind, Level};
use crate::rules::{Family, Look, Mends, Rule, Use, find};
use crate::source::{Edit, Place, Span};
use crate::words::FileKind;

/// The rule. What it says is known only once all others have spoken, so [`faults`] says it then.
pub const RULE: Rule = Rule {
    slug: "waiver-unused",
    family: Family::Language,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::Always,
    waivable: false,
    safety: false,
    statuses: &[],
    page: include_str!("waiver_unused.md"),
    look: |_, _| {},
};

/// The findings, given what became of the file's own waivers.
///
/// Only a plan's waivers are judged: one in a kit file may be there for a plan that is not looked at.
pub fn faults(at: &Look<'_>, used: &[Use]) -> Vec<Finding> {
    if at.kind != FileKind::Plan {
        return Vec::new();
    }
    let good = |slug: &str| find(slug).is_some_and(|rule| rule.waivable);
    at.waivers
        .iter()
        .zip(used)
        .filter(|(waiver, used)| **used == Use::Nothing && waiver.reason().is_some() && good(&waiver.rule))
        .map(|(waiver, _)| {
            let message = format!("waives {}, which nothing here raises", *waiver.rule);
            let mut finding = RULE.finding(waiver.place.clone(), message).with_fix(Fix {
                title: "take the waiver out".to_owned(),
                kind: FixKind::Safe,
                edits: vec![Edit { place: whole_line(at, &waiver.place), text: String::new() }],
            });
            finding.unused = true;
            finding
        })
        .collect()
}

/// The whole line of a node where nothing else stands on it, else the node alone.
fn whole_line(at: &Look<'_>, node: &Place) -> Place {
    let before = at.text.slice(Span::new(0, node.span.start));
    let after = at.text.slice(Span::new(node.span.end, at.text.len()));
    let start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let blank = after.find(|c: char| c != ' ' && c != '\t').unwrap_or(after.len());
    let line_break = match &after[blank..] {
        rest if rest.starts_with("\r\n") => 2,
        rest if rest.starts_with(['\n', '\r']) => 1,
        _ => return node.clone(),
    };
    if before[start..].trim().is_empty() {
        let end = node.span.end as usize + blank + line_break;
        Place::new(node.file.clone(), Span::new(start as u32, end as u32))
    } else {
        node.clone()
    }
}
