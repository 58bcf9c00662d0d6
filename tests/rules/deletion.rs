//! No fact can be taken out in silence: whatever a finding rests on, a plan that says it is ready owes it.
//!
//! Each property and each record of the examples is taken out in turn. A finding that is gone then must have left
//! something in its place: another finding, or that a rule could not look. For the good plans, which have no findings to
//! lose, a fact counts as one that a rule needs if another value in its place is found fault with.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use leadsman::archive::{Archive, Change, Disk};
use leadsman::findings::{Finding, Level};
use leadsman::source::{FileId, Span};
use leadsman::syntax::{NodeId, Tree};
use leadsman::words::word_of;

/// Words that are chosen, not found: who takes a limit out is held to less, and says so.
const CHOSEN: &[&str] = &["allow", "use", "limits", "otherwise", "level", "exclude"];
/// Things: without one there is nothing that facts would be lacking of.
const THINGS: &[&str] = &["dive", "diver", "cell", "battery", "interval"];
/// Levels of work follow from those that are written.
const FOLLOWING: &[&str] = &["gas", "oxygen"];
/// What isn't recorded didn't happen: absorbent that was packed was not used, a cylinder that was filled was not filled
/// again.
const HAPPENINGS: &[&str] = &["used", "fill"];
/// Limits that a maker need not give: a unit that says nothing of the cold has no such limit that anyone wrote down.
const MAY_BE_UNSAID: &[&str] = &["coldest"];

fn examples() -> Archive {
    Archive::open(Arc::new(Disk), &Path::new(env!("CARGO_MANIFEST_DIR")).join("examples"))
}

/// Something that could be taken out of a file.
struct Fact {
    file: FileId,
    /// What is taken out.
    span: Span,
    /// Its text.
    text: String,
    /// The values in it that could be others.
    values: Vec<Span>,
}

/// What a plan and the files that it sees say.
fn facts(archive: &Archive, plan: &FileId) -> Vec<Fact> {
    let mut files = archive.in_sight(plan);
    let template = archive.plan(plan).and_then(|plan| plan.from.as_ref().and_then(|from| from.file.clone()));
    files.extend(template);
    let text = archive.text(plan).unwrap();
    files.iter().flat_map(|file| facts_of(archive, file, text.as_str())).collect()
}

fn facts_of(archive: &Archive, file: &FileId, plan: &str) -> Vec<Fact> {
    let tree = archive.tree(file).unwrap();
    let mut facts = Vec::new();
    // Of the club's kit what the plan takes; canisters are named by their units.
    let is_taken = |node: NodeId| {
        let top = std::iter::successors(Some(node), |node| tree.parent(*node)).last().unwrap();
        let name = tree.entries(top).next().map(|entry| &tree.text()[entry.value_span.range()]);
        !matches!(&*tree.name(top).text, "cylinder" | "diver" | "unit") || name.is_some_and(|name| plan.contains(name))
    };
    for node in tree.nodes().filter(|node| !is_chosen(&tree, *node) && is_taken(*node)) {
        let Some(word) = word_of(&tree, node) else { continue };
        let name = tree.name(node).text;
        let mut values = Vec::new();
        for entry in tree.entries(node) {
            let value = match &entry.key {
                Some(key) => word.prop(&key.text),
                None => word.args.first(),
            };
            let is_owed = value
                .is_some_and(|value| value.default.is_none() && !value.asked && !MAY_BE_UNSAID.contains(&value.name));
            if is_owed {
                values.push(entry.annotation.map_or(entry.value_span, |unit| unit.span.to(entry.value_span)));
            }
            if entry.key.is_some() && is_owed && !(FOLLOWING.contains(&&*name)) {
                facts.push(Fact::of(&tree, file, entry.span, values.last().copied().into_iter().collect()));
            }
        }
        let parent = tree.parent(node);
        let again = || tree.children(parent.unwrap()).filter(|other| tree.name(*other).text == name).count() > 1;
        let happened = HAPPENINGS.contains(&&*name) && (name == "used" || again());
        if parent.is_some() && !is_leg(&name) && !THINGS.contains(&&*name) && !happened {
            facts.push(Fact::of(&tree, file, tree.span(node), values));
        }
    }
    facts
}

impl Fact {
    fn of(tree: &Tree, file: &FileId, span: Span, values: Vec<Span>) -> Fact {
        Fact { file: file.clone(), span, text: tree.text()[span.range()].to_owned(), values }
    }
}

/// What is done on a dive, no fact about it.
fn is_leg(name: &str) -> bool {
    matches!(name, "descend" | "stay" | "ascend" | "stop" | "travel" | "switch" | "set-point" | "repeat")
}

fn is_chosen(tree: &Tree, node: NodeId) -> bool {
    std::iter::successors(Some(node), |node| tree.parent(*node)).any(|node| CHOSEN.contains(&&*tree.name(node).text))
}

/// What is found of a plan once a text stands in place of another.
fn found(archive: &Archive, plan: &FileId, file: &FileId, span: Span, text: &str) -> Vec<Finding> {
    let text = archive.text(file).unwrap().edited(span, text);
    archive.with(&[Change::Open(file.clone(), text)]).findings(plan)
}

fn said(found: &[Finding]) -> BTreeSet<(&str, &str)> {
    found.iter().filter(|finding| finding.waived.is_none()).map(|f| (&*f.rule, &*f.message)).collect()
}

fn line(archive: &Archive, fact: &Fact) -> usize {
    archive.text(&fact.file).unwrap().position(fact.span.start, leadsman::source::Encoding::Utf8).line as usize + 1
}

#[test]
fn no_finding_goes_with_a_fact_and_leaves_nothing() {
    let archive = examples();
    let mut holes = Vec::new();
    let plans = [
        "plans/saturday",
        "plans/sunday",
        "plans/guest",
        "flawed/too-deep",
        "flawed/spare-unit",
        "flawed/wrong-cylinders",
    ];
    for plan in plans.map(|plan| FileId::new(format!("{plan}.plan.kdl"))) {
        let findings = archive.findings(&plan);
        let before = said(&findings);
        let facts = facts(&archive, &plan);
        assert!(facts.len() > 60, "{plan}");
        holes.par_extend(facts.par_iter().filter_map(|fact| {
            let after = found(&archive, &plan, &fact.file, fact.span, "");
            let after = said(&after);
            let gone: Vec<_> = before.difference(&after).collect();
            let is_hole = !gone.is_empty() && after.is_subset(&before);
            is_hole
                .then(|| format!("{plan} without `{}` of {}:{}: {gone:?}", fact.text, fact.file, line(&archive, fact)))
        }));
    }
    assert!(holes.is_empty(), "{} holes:\n{}", holes.len(), holes.join("\n"));
}

/// Other values than one that is written: far less, far more, long ago, far ahead, another word.
fn others(value: &str) -> Vec<String> {
    let unit = value.find(')').map_or("", |end| &value[..=end]);
    let plain = value.strip_prefix(unit).unwrap_or(value);
    if let Ok(number) = plain.parse::<f64>() {
        return [0.05, 0.5, 2.0, 20.0].map(|times| format!("{unit}{:.3}", number * times)).to_vec();
    }
    let date = plain.trim_matches('"');
    match date.split('-').next().and_then(|year| year.parse::<i32>().ok()) {
        Some(year) if date.len() == 10 => [-4, 4].map(|more| format!("\"{}{}\"", year + more, &date[4..])).to_vec(),
        _ => Vec::new(),
    }
}

#[test]
fn a_fact_that_a_rule_needs_is_owed() {
    let archive = examples();
    let mut holes = Vec::new();
    for plan in ["plans/saturday", "plans/sunday", "plans/guest"].map(|plan| FileId::new(format!("{plan}.plan.kdl"))) {
        let findings = archive.findings(&plan);
        let before = said(&findings);
        let graver = |found: &[Finding]| {
            found
                .iter()
                .any(|f| f.level > Level::Note && f.waived.is_none() && !before.contains(&(&*f.rule, &*f.message)))
        };
        let facts = facts(&archive, &plan);
        holes.par_extend(facts.par_iter().filter_map(|fact| {
            if graver(&found(&archive, &plan, &fact.file, fact.span, "")) {
                return None;
            }
            let faulted = fact.values.iter().find_map(|span| {
                let value = archive.text(&fact.file).unwrap().as_str()[span.range()].to_owned();
                others(&value).into_iter().find_map(|other| {
                    let found = found(&archive, &plan, &fact.file, *span, &other);
                    let rule = found.iter().find(|f| {
                        let of_text = leadsman::rules::find(&f.rule).is_none_or(|rule| rule.statuses.is_empty());
                        !of_text && f.level > Level::Note && !before.contains(&(&*f.rule, &*f.message))
                    })?;
                    Some(format!("{} at {other}", rule.rule))
                })
            })?;
            Some(format!("{plan} without `{}` of {}:{}: {faulted}", fact.text, fact.file, line(&archive, fact)))
        }));
    }
    assert!(holes.is_empty(), "{} holes:\n{}", holes.len(), holes.join("\n"));
}
