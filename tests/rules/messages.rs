//! What a finding says, and the values that programs go by.

use std::collections::BTreeMap;

use serde_json::Value;

use super::{cases, findings};

/// Every number and every name that a sentence tells comes of the finding's values: whoever goes by them sees each change
/// that a reader would see. What stays the same in all sentences of a rule is its wording.
#[test]
fn two_sentences_of_a_rule_have_two_sets_of_values() {
    let mut said: BTreeMap<(String, String), String> = BTreeMap::new();
    let mut wrong = Vec::new();
    for case in cases::all() {
        for finding in findings(&case.archive, &case.files) {
            let known = (finding.rule.clone(), finding.data.to_string());
            let first = said.entry(known.clone()).or_insert_with(|| finding.message.clone());
            if *first != finding.message {
                wrong.push(format!("{}: {}\n  {first}\n  {}", known.0, known.1, finding.message));
            }
        }
    }
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{} alike:\n{}", wrong.len(), wrong.join("\n"));
}

/// A value is told as it stands in the data, so that nothing is known of a finding that its reader is not told. What the
/// words round off further, and what they say instead of a number, is named here.
#[test]
fn every_value_is_told() {
    /// What a sentence says in words: "on leaving the surface" is minute 0, "none" a number, a shut feed a trouble; and the
    /// day that a span is counted to. Of many rules that wait for a fact the first are told, and how many more there are.
    const IN_WORDS: [&str; 11] =
        ["minute", "what", "written", "trouble", "kind", "has", "more", "instructors", "on", "names", "clock"];
    let mut wrong = Vec::new();
    for case in cases::all() {
        for finding in findings(&case.archive, &case.files) {
            let told = |value: &Value| match value {
                Value::String(text) => finding.message.contains(text) || finding.message.contains(&format!("{text:?}")),
                other => finding.message.contains(&other.to_string()),
            };
            for (name, value) in finding.data.values().filter(|(name, _)| !IN_WORDS.contains(name)) {
                let all = match value {
                    Value::Array(values) if name == "rules" => {
                        let (first, more) = values.split_at(values.len().min(3));
                        let counted =
                            more.is_empty() || finding.message.ends_with(&format!(" and {} more", more.len()));
                        first.iter().all(told) && counted
                    }
                    Value::Array(values) => values.iter().all(told),
                    value => told(value),
                };
                if !all {
                    wrong.push(format!("{}: {name} {value} in {:?}", finding.rule, finding.message));
                }
            }
        }
    }
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{} untold:\n{}", wrong.len(), wrong.join("\n"));
}
