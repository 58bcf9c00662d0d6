//! What every rule's fixes do, held by the harness and not by the rule's author: once applied the finding is gone,
//! no error is new, the text still reads, and nothing measured, dated or signed has changed.

use std::collections::BTreeMap;

use leadsman::archive::{Archive, Change};
use leadsman::findings::{Finding, Fix, Level};
use leadsman::rules::{FixAvailability, TABLE};
use leadsman::source::{Edit, FileId};

use super::cases::{Case, all};
use super::{findings, told};

/// Words that state what was measured, dated or signed.
const FACTS: &[&str] =
    &["fill", "reading", "calibrated", "flow", "charge", "packed", "used", "done", "dived", "trained", "test", "clean"];

/// The archive after a fix.
fn mended(archive: &Archive, fix: &Fix) -> Archive {
    let mut edits: Vec<&Edit> = fix.edits.iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse((edit.place.file.clone(), edit.place.span)));
    edits.iter().fold(archive.clone(), |archive, edit| {
        let text = archive.text(&edit.place.file).unwrap().edited(edit.place.span, &edit.text);
        archive.with(&[Change::Open(edit.place.file.clone(), text)])
    })
}

/// How often each fact stands in the files, by the text of its header.
fn facts(archive: &Archive, files: &[FileId]) -> BTreeMap<String, usize> {
    let mut facts = BTreeMap::new();
    for file in files {
        let Some(tree) = archive.tree(file) else { continue };
        for node in tree.nodes().filter(|node| FACTS.contains(&&*tree.name(*node).text)) {
            *facts.entry(tree.text()[tree.header_span(node).range()].to_owned()).or_default() += 1;
        }
    }
    facts
}

fn errors(found: &[Finding]) -> BTreeMap<&str, usize> {
    let mut errors = BTreeMap::new();
    for finding in found.iter().filter(|finding| finding.level == Level::Error) {
        *errors.entry(&*finding.rule).or_default() += 1;
    }
    errors
}

fn hold(case: &Case, before: &[Finding], finding: &Finding, fix: &Fix) -> Result<(), String> {
    let after = mended(&case.archive, fix);
    let found = findings(&after, &case.files);
    let of_rule = |found: &[Finding]| found.iter().filter(|other| other.rule == finding.rule).count();
    if of_rule(&found) >= of_rule(before) {
        return Err("the finding is still there".to_owned());
    }
    let old = errors(before);
    for (rule, count) in errors(&found) {
        if count > old.get(rule).copied().unwrap_or(0) {
            return Err(format!("raises a new {rule}"));
        }
    }
    // A fault in a fact's own text may be mended; a rule about plans may not touch one.
    let textual = TABLE.iter().any(|rule| rule.slug == finding.rule && rule.statuses.is_empty());
    if !textual && facts(&case.archive, &case.files) != facts(&after, &case.files) {
        return Err("changes something measured, dated or signed".to_owned());
    }
    Ok(())
}

#[test]
fn fixes_hold() {
    let mut wrong = Vec::new();
    for case in all().iter().filter(|case| case.is_bad()) {
        let found = findings(&case.archive, &case.files);
        for finding in found.iter().filter(|finding| finding.rule == case.slug) {
            for fix in &finding.fixes {
                if let Err(why) = hold(case, &found, finding, fix) {
                    let after = mended(&case.archive, fix);
                    let said: String = findings(&after, &case.files).iter().map(|f| told(&after, f)).collect();
                    wrong.push(format!("{}/{}: {}: {why}\nafterwards:\n{said}", case.slug, case.name, fix.title));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_table_says_truly_which_rules_mend() {
    let cases = all();
    for rule in TABLE {
        let mut having = Vec::new();
        for case in cases.iter().filter(|case| case.is_bad() && case.slug == rule.slug) {
            let found = findings(&case.archive, &case.files);
            having.extend(found.iter().filter(|f| f.rule == rule.slug).map(|f| !f.fixes.is_empty()));
        }
        let truth = match rule.fixes {
            FixAvailability::None => !having.contains(&true),
            FixAvailability::Sometimes => having.contains(&true),
            FixAvailability::Always => !having.contains(&false),
        };
        assert!(truth, "{} says it mends {:?}, but its cases have fixes: {having:?}", rule.slug, rule.fixes);
    }
}

/// A fix that takes a number as far as it may go, the leg it shortens or the depth it lifts, goes that far: a minute or a
/// metre more, and the finding is there again, or an error that is new.
#[test]
fn what_fits_is_the_most_that_fits() {
    let (mut wrong, mut tried) = (Vec::new(), BTreeMap::new());
    for case in all().iter().filter(|case| case.is_bad()) {
        let found = findings(&case.archive, &case.files);
        for finding in found.iter().filter(|finding| finding.rule == case.slug) {
            let farther = finding.fixes.iter().filter_map(|fix| Some((fix, one_more(&case.archive, fix)?)));
            for (fix, (leg, more)) in farther {
                *tried.entry(leg).or_insert(0) += 1;
                if hold(case, &found, finding, &more).is_ok() {
                    wrong.push(format!("{}/{}: {}: so would one more", case.slug, case.name, fix.title));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(tried["stay"] >= 8 && tried["descend"] >= 5, "{tried:?}");
}

/// The leg that a fix makes shorter or shallower, and the fix with one minute or metre more: each edit of it writes a
/// lower number in place of the first argument of a `stay` or of a leg to a depth, and the unit's own if one stands there.
fn one_more(archive: &Archive, fix: &Fix) -> Option<(String, Fix)> {
    let number = |text: &str| text.trim_end_matches(|c: char| !c.is_ascii_digit()).parse::<f64>().ok();
    let mut leg = None;
    let edits = fix.edits.iter().map(|edit| {
        let tree = archive.tree(&edit.place.file)?;
        let node = tree.nodes().find(|node| {
            let first = tree.entries(*node).next();
            first.is_some_and(|first| first.span == edit.place.span)
        })?;
        let name = tree.name(node).text.to_string();
        let (was, most) = (number(&tree.text()[edit.place.span.range()])?, number(&edit.text)?);
        if !matches!(name.as_str(), "stay" | "descend" | "ascend") || most >= was || most.fract() != 0.0 {
            return None;
        }
        leg.get_or_insert(name);
        Some(Edit { text: (most + 1.0).to_string(), ..edit.clone() })
    });
    let edits = edits.collect::<Option<Vec<_>>>()?;
    Some((leg?, Fix { edits, ..fix.clone() }))
}
