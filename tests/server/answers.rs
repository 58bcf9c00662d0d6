//! What the server answers: greeting, pulled findings, hovers, code actions.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};

use super::client::{Client, uri};

/// What Visual Studio Code sends first.
const VSCODE: &str = include_str!("initialize-vscode.json");

fn quarry() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("examples")
}

/// A position of a text's first occurrence in UTF-16 units, some characters into it.
fn position(text: &str, what: &str, into: usize) -> Value {
    let at = text.find(what).unwrap_or_else(|| panic!("no {what:?}")) + into;
    let line = text[..at].matches('\n').count();
    let start = text[..at].rfind('\n').map_or(0, |at| at + 1);
    json!({ "line": line, "character": text[start..at].encode_utf16().count() })
}

fn point(text: &str, what: &str) -> Value {
    let at = position(text, what, 1);
    json!({ "start": at, "end": at })
}

#[test]
fn the_greeting_of_a_client_that_pulls_is_answered() {
    let greeting: Value = serde_json::from_str(VSCODE).expect("JSON");
    let root = tempfile::tempdir().expect("a folder");
    let root = fs::canonicalize(root.path()).map(|path| (root, path)).expect("there");
    let (plan, kit) = (root.1.join("a.plan.kdl"), root.1.join("a.kit.kdl"));
    fs::write(root.1.join("leadsman.kdl"), "").expect("written");
    fs::write(&kit, "").expect("written");
    let (plan, kit) = (uri(&plan), uri(&kit));
    let text = "use \"a.kit.kdl\"\nplan \"a\" on=\"2027-05-15\" {\n    dive \"d\" {\n        descend 9\n        stay 9\n        ascend\n        diver \"Rowan\" back=\"S1\"\n    }\n}\n";

    let mut client = Client::of_binary();
    let answer = client.answer("initialize", greeting)["result"].clone();
    let can = &answer["capabilities"];
    assert_eq!(can["positionEncoding"], "utf-16");
    assert_eq!(can["textDocumentSync"]["change"], 2, "incremental");
    assert_eq!(can["textDocumentSync"]["openClose"], true);
    assert_eq!(can["hoverProvider"], true);
    assert_eq!(can["diagnosticProvider"]["interFileDependencies"], true);
    assert!(can["diagnosticProvider"].get("documentSelector").is_none(), "the client's own holds");
    assert_eq!(can["codeActionProvider"]["codeActionKinds"], json!(["quickfix", "refactor.rewrite", "source.fixAll"]));
    assert_eq!(answer["serverInfo"]["name"], "leadsman");
    client.notify("initialized", json!({}));
    client.wait("a registration", |message| {
        message["method"] == "client/registerCapability"
            && message["params"]["registrations"][0]["method"] == "workspace/didChangeWatchedFiles"
    });

    client.open(&plan, 1, text);
    let asked = json!({ "textDocument": { "uri": plan }, "identifier": "leadsman" });
    let report = client.answer("textDocument/diagnostic", asked.clone())["result"].clone();
    assert_eq!(report["kind"], "full");
    let misses = |report: &Value| {
        report["items"]
            .as_array()
            .expect("a list")
            .iter()
            .any(|item| item["code"] == "unresolved-name" && item["message"].as_str().expect("text").contains("S1"))
    };
    assert!(misses(&report), "{report:#}");
    let mut again = asked.clone();
    again["previousResultId"] = report["resultId"].clone();
    assert_eq!(client.answer("textDocument/diagnostic", again)["result"]["kind"], "unchanged");

    // A change of a file that the plan uses has the client ask again.
    client.open(&kit, 1, "cylinder \"S1\" size=12 working=232\n");
    client.wait("a refresh", |message| message["method"] == "workspace/diagnostic/refresh");
    let report = client.answer("textDocument/diagnostic", asked)["result"].clone();
    assert!(!misses(&report), "{report:#}");
    let pushed = client.told().iter().any(|message| message["method"] == "textDocument/publishDiagnostics");
    assert!(!pushed, "a client that pulls is not pushed to");
    assert_eq!(client.leave(), 0);
}

#[test]
fn findings_of_all_files_are_told_when_there_are_any_new() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = fs::canonicalize(folder.path()).expect("there");
    let (good, bad) = (root.join("good.kit.kdl"), root.join("bad.kit.kdl"));
    fs::write(&good, "cylinder \"S1\" size=12 working=232\n").expect("written");
    fs::write(&bad, "cylindre \"S1\" size=12\n").expect("written");
    fs::write(root.join("other.kdl"), "cylindre\n").expect("written");
    let mut greeting: Value = serde_json::from_str(VSCODE).expect("JSON");
    greeting["workspaceFolders"] = json!([{ "uri": uri(&root), "name": "root" }]);
    let mut client = Client::of_binary();
    client.answer("initialize", greeting);
    client.notify("initialized", json!({}));

    let first = client.answer("workspace/diagnostic", json!({ "previousResultIds": [] }))["result"].clone();
    let items = first["items"].as_array().expect("a list");
    let of = |items: &[Value], path: &PathBuf| {
        items.iter().find(|item| item["uri"] == uri(path).as_str()).cloned().unwrap_or_default()
    };
    assert_eq!(items.len(), 2, "{items:#?}");
    assert_eq!(of(items, &good)["items"], json!([]));
    assert_ne!(of(items, &bad)["items"], json!([]));

    // Asked again with what it has, the client is answered once something has changed; until then it may cancel.
    let known: Vec<Value> = items.iter().map(|item| json!({ "uri": item["uri"], "value": item["resultId"] })).collect();
    let held = client.ask("workspace/diagnostic", json!({ "previousResultIds": known }));
    client.notify("$/cancelRequest", json!({ "id": held }));
    assert_eq!(client.reply(held)["error"]["code"], -32800);
    let mut held = client.ask("workspace/diagnostic", json!({ "previousResultIds": known }));
    fs::write(&bad, "cylinder \"S2\" size=12 working=232\n").expect("written");
    fs::remove_file(&good).expect("removed");
    let changes = json!({ "changes": [{ "uri": uri(&bad), "type": 2 }, { "uri": uri(&good), "type": 3 }] });
    client.notify("workspace/didChangeWatchedFiles", changes);
    // The disk may be seen to have changed in two steps; a client asks again with what it was told.
    let mut left: BTreeMap<String, Value> =
        known.iter().map(|known| (known["uri"].as_str().expect("text").to_owned(), known["value"].clone())).collect();
    let mut mended = false;
    while !mended || left.contains_key(&uri(&good)) {
        let items = client.reply(held)["result"]["items"].as_array().expect("a list").clone();
        for item in items.iter().filter(|item| item["kind"] == "full") {
            assert_eq!(item["items"], json!([]), "{items:#?}");
            let name = item["uri"].as_str().expect("text").to_owned();
            mended |= name == uri(&bad);
            match item.get("resultId") {
                Some(result) => left.insert(name, result.clone()),
                None => left.remove(&name),
            };
        }
        let known: Vec<Value> = left.iter().map(|(uri, value)| json!({ "uri": uri, "value": value })).collect();
        held = client.ask("workspace/diagnostic", json!({ "previousResultIds": known }));
    }
    assert_eq!(client.leave(), 0);
}

/// Opens a file of the example archive, as it is on disk or changed; its address.
fn example(client: &mut Client, name: &str, text: &str) -> String {
    let uri = uri(&quarry().join(name));
    client.open(&uri, 1, text);
    uri
}

fn hover(client: &mut Client, uri: &str, at: &Value) -> String {
    let asked = json!({ "textDocument": { "uri": uri }, "position": at });
    let answer = client.answer("textDocument/hover", asked);
    assert!(answer.get("error").is_none(), "{answer}");
    let value = answer["result"]["contents"]["value"].as_str().unwrap_or_default().to_owned();
    assert!(!value.contains("```"), "no fences an editor may not know: {value}");
    value
}

#[test]
fn hovers_say_what_words_mean_and_what_names_stand_for() {
    let name = "plans/saturday.plan.kdl";
    let text = fs::read_to_string(quarry().join(name)).expect("there");
    let mut client = Client::of_binary();
    client.greet(json!({}));
    let uri = example(&mut client, name, &text);

    let word = hover(&mut client, &uri, &position(&text, "interval", 2));
    assert!(word.contains("minutes"), "{word}");
    assert!(!word.contains(leadsman::CAUTION), "a meaning is no figure: {word}");
    let value = hover(&mut client, &uri, &position(&text, "rate=15", 1));
    assert!(value.contains("rate") && value.contains("metres a minute"), "{value}");

    let cylinder = hover(&mut client, &uri, &position(&text, "S12-04", 2));
    // Worked by hand from the plan: 1.4/0.35 bar less 0.988 at 210 m of altitude is 30.1 m; 1.4 bar at 26 m is 39.02 %
    // and the unit's maker asks for 34; 12 L × 205 bar were 2,460 L if the gas were ideal.
    let depth = "30 m at a PO2 of 1.4 bar";
    for said in ["205 bar", depth, "34 to 39 % oxygen for 26 m", "2460.0 L", "Endurance", "on 2027-05-15"] {
        assert!(cylinder.contains(said), "no {said:?} in {cylinder}");
    }
    assert_eq!(cylinder.matches(leadsman::CAUTION).count(), 1, "{cylinder}");
    let unit = hover(&mut client, &uri, &position(&text, "fen-3", 2));
    // 2027-01-10 to 2027-05-15 is 125 days, and 12 months on is 2028-01-10. At the floor of 22 % a feed of 11.2 + 13
    // L/min of 34.8 % holds 24.2·0.128/0.78 = 3.971 free litres of oxygen, 3.65 STPD.
    for said in ["125 days old", "2028-01-10", "3.6 L/min (STPD)", "min left", "82 %", leadsman::CAUTION] {
        assert!(unit.contains(said), "no {said:?} in {unit}");
    }
    let diver = hover(&mut client, &uri, &position(&text, "\"Rowan\"", 2));
    for said in ["Oxygen used", "STPD", "Trained", leadsman::CAUTION] {
        assert!(diver.contains(said), "no {said:?} in {diver}");
    }
    assert_eq!(hover(&mut client, &uri, &json!({ "line": 9_999, "character": 9_999 })), "");
    assert_eq!(client.leave(), 0);
}

/// Applies a workspace edit's changes to a text, from the back, in UTF-16 positions of ASCII lines.
fn applied(text: &str, edits: &Value) -> String {
    let offset = |at: &Value| {
        let line = usize::try_from(at["line"].as_u64().expect("a line")).expect("small");
        let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
        let mut units = at["character"].as_u64().expect("a column");
        let mut offset = start;
        for char in text[start..].chars() {
            if units == 0 {
                break;
            }
            units -= char.len_utf16() as u64;
            offset += char.len_utf8();
        }
        offset
    };
    let mut edits: Vec<(usize, usize, &str)> = edits
        .as_array()
        .expect("edits")
        .iter()
        .map(|edit| {
            let (start, end) = (offset(&edit["range"]["start"]), offset(&edit["range"]["end"]));
            (start, end, edit["newText"].as_str().expect("text"))
        })
        .collect();
    edits.sort_unstable();
    let mut new = text.to_owned();
    for (start, end, with) in edits.into_iter().rev() {
        new.replace_range(start..end, with);
    }
    new
}

#[test]
fn fixes_are_offered_for_a_line_a_point_or_a_word_and_mend() {
    let folder = tempfile::tempdir().expect("a folder");
    let uri = uri(&folder.path().join("a.plan.kdl"));
    let text = "plan \"é 😀\" on=2027-05-15 {\n    dive \"d\" {\n        descend 9 rate=15\n        stay 9\n        ascend\n        diver \"Rowan\"\n    }\n}\n";
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(&uri, 3, text);
    let findings = client.findings(&uri, 3);
    let date = findings.iter().find(|finding| finding["range"]["start"]["line"] == 0).expect("the date needs quotes");
    let line = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 1, "character": 0 } });
    for range in [line, point(text, "2027-05-15"), date["range"].clone()] {
        let asked = json!({ "textDocument": { "uri": uri }, "range": range, "context": { "diagnostics": [] } });
        let actions = client.answer("textDocument/codeAction", asked)["result"].clone();
        let fix = actions.as_array().expect("actions").iter().find(|action| action["kind"] == "quickfix");
        let fix = fix.unwrap_or_else(|| panic!("no fix: {actions:#}"));
        assert_eq!(fix["isPreferred"], true, "{fix:#}");
        let mended = applied(text, &fix["edit"]["changes"][&uri]);
        assert_eq!(mended, text.replace("2027-05-15", "\"2027-05-15\""));
    }
    // By the finding alone, wherever the range is.
    let nowhere = json!({ "start": { "line": 7, "character": 0 }, "end": { "line": 7, "character": 0 } });
    let context = json!({ "diagnostics": [date], "only": ["quickfix"] });
    let asked = json!({ "textDocument": { "uri": uri }, "range": nowhere, "context": context });
    let actions = client.answer("textDocument/codeAction", asked)["result"].clone();
    assert_eq!(actions.as_array().expect("actions").len(), 1, "{actions:#}");

    let context = json!({ "diagnostics": [], "only": ["source.fixAll"] });
    let asked = json!({ "textDocument": { "uri": uri }, "range": nowhere, "context": context });
    let actions = client.answer("textDocument/codeAction", asked)["result"].clone();
    assert_eq!(actions[0]["kind"], "source.fixAll");
    let mended = applied(text, &actions[0]["edit"]["changes"][&uri]);
    client.change(&uri, 4, &json!([{ "text": mended }]));
    let left = client.findings(&uri, 4);
    assert!(left.iter().all(|finding| finding["range"]["start"]["line"] != 0), "{left:#?}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn findings_carry_what_the_client_can_show() {
    let name = "flawed/too-deep.plan.kdl";
    let text = fs::read_to_string(quarry().join(name)).expect("there");
    let shows = json!({
        "relatedInformation": true, "tagSupport": { "valueSet": [1, 2] }, "codeDescriptionSupport": true
    });
    let mut client = Client::of_binary();
    client.greet(json!({ "textDocument": { "publishDiagnostics": shows } }));
    let uri = example(&mut client, name, &text);
    let findings = client.findings(&uri, 1);
    assert!(!findings.is_empty());
    for finding in &findings {
        assert_eq!(finding["source"], "leadsman");
        assert!(finding["code"].is_string());
    }
    let too_deep = findings.iter().find(|finding| finding["code"] == "mod-exceeded");
    let too_deep = too_deep.unwrap_or_else(|| panic!("nothing too deep: {findings:#?}"));
    assert_eq!(too_deep["severity"], 1);
    let page = too_deep["codeDescription"]["href"].as_str().expect("a page");
    let page = page.strip_prefix("file://").expect("a file").replace("%2E", ".");
    let page = fs::read_to_string(&page).unwrap_or_else(|error| panic!("{page:?}: {error}"));
    assert!(page.starts_with("# mod-exceeded\n") && page.contains(leadsman::CAUTION), "{page}");
    let related = too_deep["relatedInformation"].as_array().expect("related places");
    assert!(related.iter().any(|related| related["location"]["uri"] == uri.as_str()), "{related:#?}");

    // A client that shows none of it is sent none.
    let mut client = Client::of_binary();
    client.greet(json!({}));
    let uri = example(&mut client, name, &text);
    for finding in client.findings(&uri, 1) {
        assert!(["relatedInformation", "tags", "codeDescription"].iter().all(|shown| finding.get(shown).is_none()));
    }
    assert_eq!(client.leave(), 0);
}
