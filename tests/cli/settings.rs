//! `check --show-settings`: what a file is held to, and where that is set.

use std::path::Path;

use leadsman::rules::TABLE;
use leadsman::words::{Quantity, vocabulary};
use serde_json::{Value, json};

use super::{Folder, is_honest};

const HOUSE: &str = r#"limits { po2 working=1.3 deco=1.5; depth 36 }
level "descent-fast" error
level "gas-dense" note because="we dive it shallow"
level "narcosis-deep" note
level "po2-low" note because="no"
"#;
const TEMPLATE: &str =
    "plan \"T\" status=template {\n    limits { reserve 60 }\n    dive \"one\" { descend 9; ascend; }\n}\n";
const PLAN: &str = r#"allow "reverse-profile" because="a wreck, then its mast"
plan "Shelf" from="t.plan.kdl" on="2027-05-15" status=draft {
    limits { po2 working=1.2; overrun time=3 }
    dive "one" { diver "Rowan"; }
}
diver "Rowan" { allow "fitness-expired"; }
"#;

fn settings(folder: &Folder, file: &str) -> Value {
    let ran = folder.run(&["check", "--show-settings", file, "--format=json"]);
    assert_eq!((ran.code, &*ran.err), (Some(0), ""), "{ran:?}");
    let schema = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/settings.schema.json");
    let schema: Value = serde_json::from_str(&std::fs::read_to_string(schema).unwrap()).unwrap();
    let page: Value = serde_json::from_str(&ran.out).unwrap();
    let errors: Vec<String> =
        jsonschema::validator_for(&schema).unwrap().iter_errors(&page).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    page
}

/// A limit's value and the file and line where it is set.
fn limit(page: &Value, name: &str) -> Value {
    let limits = page["limits"].as_array().unwrap();
    let limit = limits.iter().find(|limit| limit["name"] == name).unwrap_or_else(|| panic!("{name}"));
    json!([limit["value"], limit["set"]["path"], limit["set"]["line"]])
}

fn club() -> Folder {
    Folder::new(&[("leadsman.kdl", HOUSE), ("t.plan.kdl", TEMPLATE), ("a.plan.kdl", PLAN)])
}

#[test]
fn each_limit_is_told_with_where_it_is_set() {
    let folder = club();
    let page = settings(&folder, "a.plan.kdl");
    let none = Value::Null;
    for (name, expected) in [
        ("po2 working", json!([1.2, "a.plan.kdl", 3])),
        ("overrun time", json!([3.0, "a.plan.kdl", 3])),
        ("reserve", json!([60.0, "t.plan.kdl", 2])),
        ("po2 deco", json!([1.5, "leadsman.kdl", 1])),
        ("depth", json!([36.0, "leadsman.kdl", 1])),
        ("po2 bailout", json!([1.6, none, none])),
        ("deco", json!([none, none, none])),
    ] {
        assert_eq!(limit(&page, name), expected, "{name}");
    }
    // The house's own file is held to the house's word.
    assert_eq!(limit(&settings(&folder, "leadsman.kdl"), "po2 working"), json!([1.3, "leadsman.kdl", 1]));
}

/// Whatever word sets a limit, that limit is shown.
#[test]
fn every_limit_that_is_set_is_shown_as_set() {
    let folder = Folder::new(&[]);
    let unset = settings(
        &{
            folder.write("a.plan.kdl", "plan \"Shelf\" on=\"2027-05-15\" status=draft\n");
            folder
        },
        "a.plan.kdl",
    );
    for limit in unset["limits"].as_array().unwrap() {
        let name = limit["name"].as_str().unwrap();
        let (word, prop) = name.split_once(' ').map_or((name, None), |(word, prop)| (word, Some(prop)));
        let row = vocabulary().find(|row| row.name == word && row.below.contains(&"limits")).unwrap();
        let takes = prop.map_or(row.arg(0), |prop| row.prop(prop)).unwrap();
        let value = match (takes.quantity, takes.range) {
            (Quantity::OneOf(words), _) => json!(words.last().unwrap()),
            (Quantity::YesNo, _) => json!(true),
            (_, range) => {
                let (least, greatest) = range.unwrap();
                let middle = (least + greatest) / 2.0;
                // Some of them are counts.
                json!(if middle > 5.0 { middle.round() } else { middle })
            }
        };
        let written = match value.as_str() {
            Some(word) => word.to_owned(),
            None if value == true => "yes".to_owned(),
            None => value.to_string(),
        };
        let said = format!("{word} {}{written}", prop.map(|prop| format!("{prop}=")).unwrap_or_default());
        let folder = Folder::new(&[(
            "a.plan.kdl",
            &format!("plan \"Shelf\" on=\"2027-05-15\" status=draft {{ limits {{ {said} }} }}\n"),
        )]);
        let page = settings(&folder, "a.plan.kdl");
        assert_eq!(self::limit(&page, name), json!([value, "a.plan.kdl", 1]), "{said}");
        let set = page["limits"].as_array().unwrap().iter().filter(|limit| !limit["set"].is_null());
        assert_eq!(set.count(), 1, "{said}");
    }
}

#[test]
fn each_level_is_told_with_whether_it_holds() {
    let page = settings(&club(), "a.plan.kdl");
    let rules = page["rules"].as_array().unwrap();
    assert_eq!(rules.len(), TABLE.len());
    let house = |slug: &str| {
        let rule = rules.iter().find(|rule| rule["rule"] == slug).unwrap();
        let levels = rule["house"].as_array().unwrap().iter();
        levels.map(|level| json!([level["level"], level["holds"], level["set"]["line"]])).collect::<Vec<_>>()
    };
    assert_eq!(house("descent-fast"), [json!(["error", true, 2])]);
    assert_eq!(house("gas-dense"), [json!(["note", true, 3])]);
    assert_eq!(house("narcosis-deep"), [json!(["note", false, 4])], "without a reason");
    assert_eq!(house("po2-low"), [json!(["note", false, 5])], "can't be lowered");
    assert!(house("mod-exceeded").is_empty());
}

#[test]
fn waivers_and_what_was_accepted_are_told() {
    let folder = club();
    let accepted = folder.run(&["check", "--accept", "--fail-on=never", "--format=json"]);
    let page = settings(&folder, "a.plan.kdl");
    let waivers: Vec<Value> = page["waivers"]
        .as_array()
        .unwrap()
        .iter()
        .map(|waiver| json!([waiver["rule"], waiver["because"], waiver["set"]["line"]]))
        .collect();
    let wanted = [json!(["reverse-profile", "a wreck, then its mast", 1]), json!(["fitness-expired", null, 6])];
    assert_eq!(waivers, wanted);
    let said: Value = serde_json::from_str(&accepted.out).unwrap();
    let own = said["files"].as_array().unwrap().iter().find(|file| file["path"] == "a.plan.kdl").unwrap();
    let own = own["findings"].as_array().unwrap().iter().filter(|finding| finding["accepted"] == true).count();
    assert!(own > 0 && page["accepted"] == own, "{own} {page}");
}

#[test]
fn a_person_can_read_it() {
    let folder = club();
    let ran = folder.run(&["check", "--show-settings", "a.plan.kdl"]);
    assert_eq!((ran.code, &*ran.err), (Some(0), ""));
    is_honest(&ran);
    let says = |row: &[&str]| ran.out.lines().any(|line| line.split_whitespace().eq(row.iter().copied()));
    assert!(says(&["po2", "working", "1.2", "bar", "a.plan.kdl:3:26"]), "{}", ran.out);
    assert!(says(&["unusable", "20", "bar", "what", "is", "usual"]) && says(&["deco", "none", "not", "set"]));
    assert!(ran.joined().contains("gas-dense at most note leadsman.kdl:3:1: we dive it shallow"), "{}", ran.out);
    assert!(ran.joined().contains("narcosis-deep does nothing leadsman.kdl:4:1"), "{}", ran.out);
}

#[test]
fn what_is_no_file_is_said() {
    let folder = club();
    for name in [".", "none.plan.kdl"] {
        let ran = folder.run(&["check", "--show-settings", name]);
        assert!(ran.code == Some(2) && ran.err.contains(name) && ran.out.is_empty(), "{ran:?}");
    }
}
