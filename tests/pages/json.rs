//! What other programs read.

use leadsman::CAUTION;
use leadsman::pages::Sheet;
use leadsman::pages::json::write;
use serde_json::{Value, json};

use super::{odd, sheet};

fn page(sheet: &Sheet) -> String {
    let mut out = Vec::new();
    write(&mut out, sheet).unwrap();
    String::from_utf8(out).unwrap()
}

fn read(sheet: &Sheet) -> Value {
    serde_json::from_str(&page(sheet)).unwrap()
}

/// Holds a page of findings to the published schema.
pub fn is_as_published(page: &Value) {
    fits(page, "check");
}

/// Holds a page to the published schema of a command.
pub fn fits(page: &Value, command: &str) {
    let path = format!("{}/schema/{command}.schema.json", env!("CARGO_MANIFEST_DIR"));
    let schema: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert!(jsonschema::draft202012::meta::is_valid(&schema));
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let wrong: Vec<String> =
        validator.iter_errors(page).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_page_says_all_that_a_finding_holds() {
    let page = read(&sheet());
    is_as_published(&page);
    assert_eq!((&page["version"], &page["caution"]), (&json!(1), &json!(CAUTION)));
    let summary = json!({
        "files": 2, "errors": 1, "warnings": 2, "notes": 0, "waived": 1, "accepted": 0, "rules_looked": 21, "rules_lacking_facts": 2,
        "facts_lacking": 1, "dives_planned": 2, "dives_simulated": 1, "files_unread": 0, "files_left_out": 1,
        "not_selected": 0, "not_shown": 0
    });
    assert_eq!(page["summary"], summary);
    assert_eq!(page["left_out"], json!([{ "path": "old.plan.kdl", "why": "ignored" }]));
    assert_eq!(
        (&page["lacking"][0]["path"], &page["lacking"][0]["fact"]),
        (&json!("south.plan.kdl"), &json!("`water`"))
    );
    assert_eq!(page["lacking"][0]["rules"], json!(["mod-exceeded", "po2-low"]));
    assert_eq!(page["files"][0], json!({ "path": "../kit/cylinders.kit.kdl", "findings": [] }));
    assert_eq!(page["files"][1]["path"], "south.plan.kdl");
    let findings = &page["files"][1]["findings"];
    assert_eq!(findings[0]["waived"], json!({ "because": "slack water at that hour" }));
    let deep = &findings[2];
    assert_eq!(
        (&deep["rule"], &deep["level"], &deep["waived"]),
        (&json!("mod-exceeded"), &json!("error"), &json!(null))
    );
    // Two tabs before `leg depth=`, each one character; the bytes count the mark, the umlauts and the face.
    let at = super::PLAN.find("(m)31.5").unwrap();
    assert_eq!(deep["start"], json!({ "line": 4, "column": 13, "byte": at }));
    assert_eq!(deep["end"], json!({ "line": 4, "column": 20, "byte": at + 7 }));
    assert_eq!(deep["related"][1]["path"], "../kit/cylinders.kit.kdl");
    assert_eq!(deep["working"][0], json!({ "formula": "PO2 = F·P", "numbers": "0.36·4.1438", "result": "1.4918 bar" }));
    let fix = &deep["fixes"][0];
    assert_eq!((&fix["kind"], &fix["edits"][0]["text"]), (&json!("suggested"), &json!("(m)29")));
    assert_eq!(fix["edits"][0]["start"], deep["start"]);
}

#[test]
fn the_schema_refuses_what_it_must() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/schema/check.schema.json");
    let schema: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let good = read(&sheet());
    for pointer in ["/version", "/caution", "/files/1/findings/0/start/line", "/summary/errors", "/summary"] {
        let mut bad = good.clone();
        *bad.pointer_mut(pointer).unwrap() = json!("nonsense");
        assert!(!validator.is_valid(&bad), "{pointer}");
        let (parent, name) = pointer.rsplit_once('/').unwrap();
        let mut bad = good.clone();
        bad.pointer_mut(parent).unwrap().as_object_mut().unwrap().remove(name);
        assert!(!validator.is_valid(&bad), "without {pointer}");
    }
}

#[test]
fn places_behind_the_end_are_cut_to_the_text() {
    for (text, start, end) in [("", 0, 0), ("", 5, 9), ("a", 1, 1), ("a\n", 2, 7), ("é", 0, 1), ("\u{feff}", 0, 3)] {
        let page = read(&odd(text.as_bytes(), start, end));
        is_as_published(&page);
        assert!(page["files"][0]["findings"][0]["end"]["byte"].as_u64().unwrap() <= text.len() as u64);
    }
}

#[test]
fn text_is_written_so_that_it_can_be_read_back() {
    let mut report = super::report();
    let odd = "\u{1b}[31m \u{202e} \u{9b} \u{7f} \u{e0041} \"\\ é 😀";
    report.files[1].1[0].message = odd.to_owned();
    let sheet = Sheet::new(
        vec![leadsman::pages::Checked { archive: super::archive(), report }],
        std::path::Path::new("/club/plans"),
    );
    let page = page(&sheet);
    assert!(page.chars().all(|c| c == '\n' || !c.is_control()) && !page.contains('\u{202e}'), "{page}");
    let read: Value = serde_json::from_str(&page).unwrap();
    assert_eq!(read["files"][1]["findings"][0]["message"], odd);
}
