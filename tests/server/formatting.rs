//! Formatting through the pipe: a file, a range, what was just typed.

use serde_json::{Value, json};

use super::client::Client;

const ADDRESS: &str = "untitled:Gr%C3%BCner%20Grund.plan.kdl";

const PLAN: &str = "plan \"Grün m³ é 😀\"   on=\"2027-05-15\"   /* °C 😀 */   status=draft {\n  dive \"eins\" {\n  descend   18 // m³ 😀\n    }\n\n\n  // ende\n}\n";
const LAID_OUT: &str = "plan \"Grün m³ é 😀\" on=\"2027-05-15\" /* °C 😀 */ status=draft {\n    dive \"eins\" {\n        descend 18  // m³ 😀\n    }\n\n    // ende\n}\n";

fn client(encoding: &str) -> Client {
    let mut client = Client::of_binary();
    let can = client.greet(json!({ "general": { "positionEncodings": [encoding] } }));
    assert_eq!(
        (&can["documentFormattingProvider"], &can["documentRangeFormattingProvider"]),
        (&json!(true), &json!(true))
    );
    assert_eq!(can["documentOnTypeFormattingProvider"]["firstTriggerCharacter"], "}");
    client
}

/// The text after edits whose columns count so.
fn edited(text: &str, edits: &[Value], encoding: &str) -> String {
    let offset = |at: &Value| {
        let (line, column) = (at["line"].as_u64().unwrap() as usize, at["character"].as_u64().unwrap() as usize);
        let begins: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
        let mut counted = 0;
        let count = |c: char| match encoding {
            "utf-8" => c.len_utf8(),
            "utf-16" => c.len_utf16(),
            _ => 1,
        };
        let rest = text[begins..].char_indices().find(|(_, c)| {
            counted += count(*c);
            counted > column
        });
        begins + rest.map_or(text.len() - begins, |(at, _)| at)
    };
    let mut out = text.to_owned();
    for edit in edits.iter().rev() {
        let (from, to) = (offset(&edit["range"]["start"]), offset(&edit["range"]["end"]));
        out.replace_range(from..to, edit["newText"].as_str().unwrap());
    }
    out
}

fn asked(client: &mut Client, method: &str, more: Value) -> Vec<Value> {
    let mut params = json!({ "textDocument": { "uri": ADDRESS }, "options": { "tabSize": 8, "insertSpaces": false } });
    params.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    client.answer(method, params)["result"].as_array().expect("a list").clone()
}

#[test]
fn a_file_that_is_on_no_disk_is_laid_out_whatever_stands_before_its_blanks() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = client(encoding);
        client.open(ADDRESS, 1, PLAN);
        let edits = asked(&mut client, "textDocument/formatting", json!({}));
        assert_eq!(edited(PLAN, &edits, encoding), LAID_OUT, "{encoding}");
        client.change(ADDRESS, 2, &json!([{ "text": LAID_OUT }]));
        assert_eq!(asked(&mut client, "textDocument/formatting", json!({})), Vec::<Value>::new());
        assert_eq!(client.leave(), 0);
    }
}

#[test]
fn a_range_is_laid_out_and_nothing_beside_it() {
    let mut client = client("utf-16");
    client.open(ADDRESS, 1, PLAN);
    let range = json!({ "range": { "start": { "line": 1, "character": 5 }, "end": { "line": 2, "character": 0 } } });
    let edits = asked(&mut client, "textDocument/rangeFormatting", range);
    assert_eq!(edited(PLAN, &edits, "utf-16"), PLAN.replace("  dive", "    dive"));
}

#[test]
fn what_does_not_read_is_left_and_the_rest_laid_out() {
    let broken = PLAN.replace("18 //", "18m //").replace("// ende", "stay   3");
    let mut client = client("utf-16");
    client.open(ADDRESS, 1, &broken);
    let edits = asked(&mut client, "textDocument/formatting", json!({}));
    let after = edited(&broken, &edits, "utf-16");
    assert!(after.contains("\n  descend   18m // m³ 😀\n") && after.contains("\n    stay 3\n"), "{after}");
}

#[test]
fn a_new_line_is_indented_and_a_closed_block_laid_out() {
    let mut client = client("utf-16");
    let typing = "plan \"é\" {\n    dive \"a\" {\n\n  stay   3\n}\n";
    client.open(ADDRESS, 1, typing);
    let at =
        |line: u32, character: u32, ch: &str| json!({ "position": { "line": line, "character": character }, "ch": ch });
    let edits = asked(&mut client, "textDocument/onTypeFormatting", at(2, 0, "\n"));
    assert_eq!(edited(typing, &edits, "utf-16"), typing.replace("{\n\n", "{\n        \n"));
    let closed = "plan   \"é\" {\n  dive \"a\" {\n  stay   3\n}\n}\n";
    client.change(ADDRESS, 2, &json!([{ "text": closed }]));
    let edits = asked(&mut client, "textDocument/onTypeFormatting", at(3, 1, "}"));
    assert_eq!(edited(closed, &edits, "utf-16"), "plan   \"é\" {\n    dive \"a\" {\n        stay 3\n    }\n}\n");
    assert_eq!(asked(&mut client, "textDocument/onTypeFormatting", at(2, 4, "}")), Vec::<Value>::new());
}
