//! A club's archive under the editor: what is typed there is found as a fresh run would find it.

use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};
use tempfile::TempDir;

use super::client::{Client, uri};
use crate::club::Club;

/// Rule, line and column from 0, message.
type Said = (String, u64, u64, String);

/// An archive of a made club on disk.
struct Root {
    folder: TempDir,
}

impl Root {
    fn new() -> Root {
        let root = Root { folder: tempfile::tempdir().unwrap() };
        let club = Club { plans: 24, seed: crate::seed::or(3), flawed_percent: 0, ready: 12 };
        club.files().iter().for_each(|(path, text)| root.write(path, text));
        root
    }

    fn path(&self, name: &str) -> PathBuf {
        fs::canonicalize(self.folder.path()).unwrap().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    /// What the command says of files, in path order.
    fn checked(&self, names: &[&str]) -> Vec<(String, Vec<Said>)> {
        let mut command = crate::cli::leadsman(self.folder.path());
        let ran = command.args(["check", "--format", "json"]).args(names).output().unwrap();
        let said: Value = serde_json::from_slice(&ran.stdout).unwrap();
        let place = |finding: &Value, what: &str| finding["start"][what].as_u64().unwrap() - 1;
        let text = |finding: &Value, what: &str| finding[what].as_str().unwrap().to_owned();
        let one = |finding: &Value| {
            (text(finding, "rule"), place(finding, "line"), place(finding, "column"), text(finding, "message"))
        };
        let files = said["files"].as_array().unwrap().iter();
        let findings = |file: &Value| file["findings"].as_array().unwrap().iter().map(one).collect();
        files.map(|file| (text(file, "path"), findings(file))).collect()
    }
}

/// What the server says of a document.
fn told(client: &mut Client, uri: &str) -> Vec<Said> {
    let report = client.answer("textDocument/diagnostic", json!({ "textDocument": { "uri": uri } }));
    let items = report["result"]["items"].as_array().unwrap_or_else(|| panic!("{report}")).clone();
    let number = |item: &Value, what: &str| item["range"]["start"][what].as_u64().unwrap();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let one =
        |item: &Value| (text(&item["code"]), number(item, "line"), number(item, "character"), text(&item["message"]));
    items.iter().map(one).collect()
}

#[test]
fn edits_end_in_what_a_fresh_run_finds() {
    let root = Root::new();
    let names = [
        "plans/2017/2017-01-14-0.plan.kdl",
        "plans/2017/2017-01-15-0.plan.kdl",
        "records/2017-01.kit.kdl",
        "kit/2017.kit.kdl",
        "crew.kit.kdl",
        "leadsman.kdl",
    ];
    let uris = names.map(|name| uri(&root.path(name)));
    let mut texts = names.map(|name| root.read(name));
    let mut client = Client::of_binary();
    client.greet(json!({ "textDocument": { "diagnostic": {} } }));
    for (uri, text) in uris.iter().zip(&texts) {
        client.open(uri, 1, text);
    }
    // Which document, what is replaced where it first stands, and by what.
    let edits = [
        (0, "stay ", "stay 2"),
        (1, "set-point=26", "set-point=40"),
        (2, "o2=35 analysed=3", "o2=30 analysed=2"),
        (3, "floor o2=22", "floor o2=24"),
        (0, "2017-01-14", "2017-01-19"),
        (5, "depth 36", "depth 12"),
        (0, "2017-01-19", "2017-01-14"),
        (1, "diver \"Rowan\"", "diver \"Rowann\""),
        (3, "unit \"fen-0\"", "unit \"fen-99\""),
        (5, "depth 12", "depth 36"),
        (3, "unit \"fen-99\"", "unit \"fen-0\""),
    ];
    let mut said = 0;
    for (number, (document, from, to)) in edits.into_iter().enumerate() {
        let text = &mut texts[document];
        let at = text.find(from).unwrap_or_else(|| panic!("{from:?} in {}", names[document]));
        let lines = text[..at].matches('\n').count();
        let start = json!({ "line": lines, "character": at - text[..at].rfind('\n').map_or(0, |end| end + 1) });
        let end = json!({ "line": lines, "character": start["character"].as_u64().unwrap() + from.len() as u64 });
        text.replace_range(at..at + from.len(), to);
        let change = json!([{ "range": { "start": start, "end": end }, "text": to }]);
        client.change(&uris[document], number as i64 + 2, &change);
        root.write(names[document], text);
        let checked = root.checked(&names);
        assert_eq!(checked.len(), names.len());
        for (name, found) in checked {
            said += found.len();
            let uri = uri(&root.path(&name));
            assert_eq!(told(&mut client, &uri), found, "{name} after edit {number}");
        }
    }
    assert!(said > 60, "{said} findings");
    assert_eq!(client.leave(), 0);
}

/// What is pushed for a plan follows what the plans before it leave.
#[test]
fn an_open_plan_follows_the_plans_before_it() {
    let root = Root::new();
    let (before, after) = ("plans/2017/2017-01-14-0.plan.kdl", "plans/2017/2017-01-15-0.plan.kdl");
    let (before_uri, after_uri) = (uri(&root.path(before)), uri(&root.path(after)));
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(&after_uri, 1, &root.read(after));
    let first = client.findings(&after_uri, 1);
    assert!(first.iter().all(|finding| finding["severity"] == 3), "{first:?}");
    let text = root.read(before);
    client.open(&before_uri, 1, &text);
    client.findings(&before_uri, 1);
    // Longer than the absorbent lasts, packed on the day before and not since.
    let records = "records/2017-01.kit.kdl";
    let kept = root.read(records).replace("record \"c-0\" { packed on=\"2017-01-15\" }", "");
    root.write(records, &kept);
    let watched = json!({ "changes": [{ "uri": uri(&root.path(records)), "type": 2 }] });
    client.notify("workspace/didChangeWatchedFiles", watched);
    let longer = text.replacen("stay ", "stay 1", 1);
    client.change(&before_uri, 2, &json!([{ "text": longer }]));
    let says = |params: &Value| {
        let findings = params["diagnostics"].as_array().unwrap();
        findings.iter().any(|finding| finding["code"] == "absorbent-short")
    };
    client.findings_when(&after_uri, says);
    client.change(&before_uri, 3, &json!([{ "text": text }]));
    client.findings_when(&after_uri, |params| !says(params));
    assert_eq!(client.leave(), 0);
}

/// When its divers last dived is told by plans of months before, which may come and go.
#[test]
fn an_open_plan_follows_what_its_divers_dived_long_before() {
    let root = Root::new();
    let first = root.read("plans/2017/2017-01-14-0.plan.kdl");
    let on = |day: &str, status: &str| {
        let begins = first.find(" status=").unwrap();
        let ends = begins + first[begins + 1..].find(' ').unwrap() + 1;
        format!("{} status={status}{}", &first[..begins], &first[ends..]).replacen("2017-01-14", day, 1)
    };
    root.write("leadsman.kdl", "limits { currency months=6; }\n");
    let (late, summer) = (root.path("plans/2017/late.plan.kdl"), root.path("plans/2017/summer.plan.kdl"));
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(&uri(&late), 1, &on("2017-11-20", "ready"));
    let lapsed = |params: &Value| {
        let findings = params["diagnostics"].as_array().unwrap();
        findings.iter().any(|finding| finding["code"] == "currency-lapsed")
    };
    client.findings_when(&uri(&late), lapsed);
    root.write("plans/2017/summer.plan.kdl", &on("2017-07-01", "dived"));
    let watched = |kind: u8| json!({ "changes": [{ "uri": uri(&summer), "type": kind }] });
    client.notify("workspace/didChangeWatchedFiles", watched(1));
    client.findings_when(&uri(&late), |params| !lapsed(params));
    fs::remove_file(&summer).unwrap();
    client.notify("workspace/didChangeWatchedFiles", watched(3));
    client.findings_when(&uri(&late), lapsed);
    assert_eq!(client.leave(), 0);
}
