//! `out-of-range`: a value that can't be meant.

use std::collections::BTreeSet;

use super::vocabulary_error;
use crate::findings::{Fix, FixKind, Level, Wording, said};
use crate::plan::{Leg, LegKind};
use crate::rules::{ANY_FILE, Context, Family, FixAvailability, Rule, Sink, dives, say};
use crate::source::{Edit, Placed};
use crate::words::VocabularyErrorKind;

/// The rule. What the vocabulary's walker finds is said here; what that speaks of is left unread by every other rule, so
/// lowering it needs a reason. A leg's depth that the leg before leaves no way to is found here.
pub(crate) const RULE: Rule =
    Rule::new("out-of-range", Family::Language, Level::Error, include_str!("out_of_range.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety()
        .at(ANY_FILE);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    vocabulary_error::say(&RULE, VocabularyErrorKind::OutOfRange, context, sink);
    let mut said = BTreeSet::new();
    for dive in dives::all(context) {
        let mut at_m = 0.0;
        for leg in dive.legs() {
            let Some(depth) = to(leg, at_m) else { continue };
            if let Some(wrong) = wrong_way(leg, at_m, depth)
                && leg.place.file == *context.file
                && said.insert(leg.place.clone())
            {
                one(context, leg, at_m, &wrong, sink);
            }
            at_m = depth;
        }
    }
}

/// The depth that a leg ends at, metres; `None` for one that goes nowhere.
fn to(leg: &Leg, at_m: f64) -> Option<f64> {
    match leg.kind {
        LegKind::Ascend { .. } | LegKind::Descend { .. } | LegKind::Stop { .. } | LegKind::Travel { .. } => {
            Some(leg.ends_at_m().unwrap_or(at_m))
        }
        _ => None,
    }
}

/// A leg that goes the other way than its word.
struct Wrong<'a> {
    depth: &'a Placed<f64>,
    word: &'static str,
    /// The word for the way that it goes.
    meant: Option<&'static str>,
}

fn wrong_way<'a>(leg: &'a Leg, at_m: f64, to_m: f64) -> Option<Wrong<'a>> {
    let depth = leg.depth_m()?;
    let meant = match leg.kind {
        LegKind::Descend { .. } if to_m <= at_m => Some("ascend"),
        LegKind::Ascend { .. } if to_m >= at_m => Some("descend"),
        LegKind::Stop { .. } if to_m > at_m => None,
        _ => return None,
    };
    Some(Wrong { depth, word: leg.kind.word(), meant: meant.filter(|_| to_m != at_m) })
}

fn one(context: &Context<'_>, leg: &Leg, at_m: f64, wrong: &Wrong<'_>, sink: &mut Sink<'_>) {
    let Wrong { depth, word, meant } = wrong;
    let (at, to) = (say::number(at_m), say::number(depth.value));
    let way = match (*word, depth.value.total_cmp(&at_m)) {
        (_, std::cmp::Ordering::Equal) => "leads nowhere",
        (_, std::cmp::Ordering::Less) => "leads up",
        (_, std::cmp::Ordering::Greater) => "leads down",
    };
    let mut finding =
        RULE.finding(depth.place.clone(), said!("`{word} {to}` begins at {at} m and {way}", word, to, at, way));
    if let Some(meant) = meant {
        finding.say_more(said!(
            ": was `{meant} {more}` meant?",
            meant = Wording(meant),
            more = Wording(&to.to_string())
        ));
        let node = context.tree.nodes().find(|node| context.tree.header_span(*node) == leg.place.span);
        if let Some(node) = node {
            finding = finding.with_fix(Fix {
                title: format!("write `{meant}`"),
                kind: FixKind::Suggested,
                edits: vec![Edit { place: context.here(context.tree.name(node).span), text: (*meant).to_owned() }],
            });
        }
    }
    sink.find(finding);
}
