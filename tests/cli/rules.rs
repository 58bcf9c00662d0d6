//! `leadsman rules` and `leadsman explain`: every rule, and the page of each.

use std::path::Path;

use leadsman::CAUTION;
use leadsman::rules::TABLE;
use serde_json::Value;

use super::Folder;

fn fits(json: &str) -> Value {
    let schema = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/rules.schema.json");
    let schema: Value = serde_json::from_str(&std::fs::read_to_string(schema).unwrap()).unwrap();
    let page: Value = serde_json::from_str(json).unwrap();
    let errors: Vec<String> =
        jsonschema::validator_for(&schema).unwrap().iter_errors(&page).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    page
}

#[test]
fn every_rule_is_listed() {
    let folder = Folder::new(&[]);
    let ran = folder.run(&["rules"]);
    assert_eq!((ran.code, &*ran.err), (Some(0), ""));
    assert!(ran.joined().contains(CAUTION));
    for rule in TABLE {
        let line = ran.out.lines().find(|line| line.split_whitespace().next() == Some(rule.slug));
        assert!(line.is_some_and(|line| line.contains(rule.level.word())), "{}", rule.slug);
    }
    let page = fits(&folder.run(&["rules", "--format", "json"]).out);
    assert_eq!(page["rules"].as_array().unwrap().len(), TABLE.len());
}

#[test]
fn every_rule_is_explained() {
    let folder = Folder::new(&[]);
    for rule in TABLE {
        let ran = folder.run(&["explain", rule.slug]);
        assert_eq!((ran.code, &*ran.err), (Some(0), ""), "{}", rule.slug);
        assert!(ran.joined().contains(CAUTION));
        for heading in ["What", "Why it matters", "Example", "Mended", "Where the figure comes from", "Where it looks"]
        {
            assert!(ran.out.lines().any(|line| line == heading), "{}: no {heading}", rule.slug);
        }
        assert!(!ran.out.contains("\n\n\n") && ran.out.lines().all(|line| line.trim_end() == line), "{}", rule.slug);
        // No marks of Markdown outside the examples, which stand four in.
        let marked = ran
            .out
            .lines()
            .filter(|line| !line.starts_with("    "))
            .find(|line| line.contains("```") || line.contains("**"));
        assert_eq!(marked, None, "{}", rule.slug);
    }
    // What is mended is drawn as a difference.
    let page = folder.run(&["explain", "mod-exceeded"]).out;
    let (_, mended) = page.split_once("\nMended\n").unwrap();
    let (mended, _) = mended.split_once("\n\n").unwrap();
    let begins = |sign: &str| mended.lines().filter(|line| line.starts_with(&format!("    {sign} "))).count();
    assert!(begins("-") > 0 && begins("+") > 0 && mended.lines().count() < 20, "{mended}");
    let page = fits(&folder.run(&["explain", "cell-expired", "--format", "json"]).out);
    assert_eq!((&page["rules"][0]["rule"], page["rules"].as_array().unwrap().len()), (&"cell-expired".into(), 1));
}

#[test]
fn a_rule_that_is_none_is_said_with_the_one_that_was_meant() {
    let ran = Folder::new(&[]).run(&["explain", "cel-expired"]);
    assert_eq!((ran.code, &*ran.out), (Some(2), ""));
    assert!(ran.err.contains("is \"cell-expired\" meant?"), "{}", ran.err);
}

#[test]
fn words_of_the_language_and_of_the_trade_are_explained() {
    let folder = Folder::new(&[]);
    let said = |args: &[&str]| {
        let ran = folder.run(&[&["explain"], args].concat());
        assert_eq!((ran.code, &*ran.err), (Some(0), ""), "{args:?}");
        assert!(ran.joined().contains(CAUTION) && !ran.out.contains("\n\n\n"), "{args:?}: {}", ran.out);
        ran.out
    };
    assert!(said(&["descend"]).starts_with("descend DEPTH [rate=]"));
    // A name that stands at several places is told for each.
    let depth = said(&["depth"]);
    assert!(depth.lines().filter(|line| line.starts_with("depth ")).count() > 1, "{depth}");
    assert!(said(&["deco"]).contains("deco= on the line of diver"), "a property");
    assert!(said(&["trimix"]).contains("See: fill"));
    assert!(said(&["NDL"]).starts_with("no-stop time (also: ndl"));
    assert!(said(&["gradient", "factors"]).contains("conservative"), "a name of two words");
    let all = said(&["--all"]);
    for word in leadsman::words::vocabulary() {
        assert!(all.contains(&word.usage()), "{}", word.id);
    }
    let list = said(&[]);
    assert!(["descend", "trimix", "rules"].iter().all(|name| list.contains(name)));
    let found = said(&["--search", "altitude"]);
    assert!(["lives", "acclimatised", "altitude-not-acclimatised"].iter().all(|name| found.contains(name)), "{found}");
    for (args, why) in [
        (&["descned"][..], "is \"descend\" meant?"),
        (&["--search", "no such text"], "nothing has"),
        (&["descend", "--format", "json"], "schema/vocabulary.json"),
    ] {
        let ran = folder.run(&[&["explain"], args].concat());
        assert!(ran.code == Some(2) && ran.err.contains(why), "{ran:?}");
    }
}
