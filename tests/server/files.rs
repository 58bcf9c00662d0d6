//! Several files, several roots, and what the disk says.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use leadsman::server::Around;
use serde_json::{Value, json};
use tempfile::TempDir;

use super::client::{Client, uri};

const KIT: &str = "cylinder \"S12-04\" size=12 working=232 {\n    fill 205 on=\"2027-05-14\" o2=35 analysed=34.8\n}\n";
const PLAN: &str = "use \"kit.kit.kdl\"\n\nplan \"Saturday\" on=\"2027-05-15\" {\n    site \"Greyfen quarry\" water=fresh altitude=210\n    dive \"morning\" {\n        descend 20\n        stay 10\n        ascend\n        diver \"Rowan\" back=\"S12-04\"\n    }\n}\n";

struct Root {
    folder: TempDir,
}

impl Root {
    fn new() -> Root {
        let folder = tempfile::tempdir().expect("a folder");
        let root = Root { folder };
        root.write("leadsman.kdl", "");
        root.write("kit.kit.kdl", KIT);
        root.write("saturday.plan.kdl", PLAN);
        root
    }

    fn path(&self, name: &str) -> PathBuf {
        fs::canonicalize(self.folder.path()).expect("there").join(name)
    }

    fn uri(&self, name: &str) -> String {
        uri(&self.path(name))
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("written");
    }
}

/// Whether findings say that the plan's cylinder is not defined.
fn misses_cylinder(params: &Value) -> bool {
    let findings = params["diagnostics"].as_array().expect("a list");
    findings.iter().any(|finding| {
        finding["code"] == "unresolved-name" && finding["message"].as_str().expect("text").contains("S12-04")
    })
}

fn folder(path: &Path) -> Value {
    json!({ "uri": uri(path), "name": "root" })
}

#[test]
fn a_change_reaches_the_open_documents_that_use_the_file_and_no_others() {
    let (here, elsewhere) = (Root::new(), Root::new());
    let mut client = Client::of_binary();
    let folders = json!([folder(&here.path("")), folder(&elsewhere.path(""))]);
    let greeting = json!({ "processId": null, "rootUri": null, "capabilities": {}, "workspaceFolders": folders });
    client.answer("initialize", greeting);
    client.notify("initialized", json!({}));
    client.open(&here.uri("saturday.plan.kdl"), 1, PLAN);
    client.open(&elsewhere.uri("saturday.plan.kdl"), 1, PLAN);
    client.findings_when(&here.uri("saturday.plan.kdl"), |params| !misses_cylinder(params));
    client.findings_when(&elsewhere.uri("saturday.plan.kdl"), |params| !misses_cylinder(params));

    // The kit is changed in the editor alone, then closed without being saved.
    client.open(&here.uri("kit.kit.kdl"), 1, KIT);
    client.change(&here.uri("kit.kit.kdl"), 2, &json!([{ "text": KIT.replace("S12-04", "S12-05") }]));
    client.findings_when(&here.uri("saturday.plan.kdl"), misses_cylinder);
    client.close(&here.uri("kit.kit.kdl"));
    client.findings_when(&here.uri("saturday.plan.kdl"), |params| !misses_cylinder(params));
    let other = elsewhere.uri("saturday.plan.kdl");
    assert!(client.told().iter().all(|message| message["params"]["uri"] != other), "{:?}", client.told());

    // A document outside every open folder has an archive of its own.
    let third = Root::new();
    client.open(&third.uri("saturday.plan.kdl"), 5, PLAN);
    client.findings_when(&third.uri("saturday.plan.kdl"), |params| !misses_cylinder(params));
    assert_eq!(client.leave(), 0);
}

#[test]
fn without_a_watcher_used_files_are_looked_at_again() {
    let root = Root::new();
    let mut client = Client::within(Around { idle: Duration::from_millis(20), ..Around::default() });
    client.greet(json!({}));
    let plan = root.uri("saturday.plan.kdl");
    client.open(&plan, 1, PLAN);
    client.findings_when(&plan, |params| !misses_cylinder(params));
    root.write("kit.kit.kdl", "");
    client.findings_when(&plan, misses_cylinder);
    root.write("kit.kit.kdl", KIT);
    client.findings_when(&plan, |params| !misses_cylinder(params));
    fs::remove_file(root.path("kit.kit.kdl")).expect("removed");
    client.findings_when(&plan, misses_cylinder);
    root.write("kit.kit.kdl", KIT);
    client.findings_when(&plan, |params| !misses_cylinder(params));
    assert_eq!(client.leave(), 0);
}

#[test]
fn saving_has_used_files_looked_at_again() {
    let root = Root::new();
    // Nothing would be looked at for an hour.
    let mut client = Client::within(Around { idle: Duration::from_secs(3600), ..Around::default() });
    client.greet(json!({}));
    let plan = root.uri("saturday.plan.kdl");
    client.open(&plan, 1, PLAN);
    client.findings_when(&plan, |params| !misses_cylinder(params));
    root.write("kit.kit.kdl", "");
    client.notify("textDocument/didSave", json!({ "textDocument": { "uri": plan } }));
    client.findings_when(&plan, misses_cylinder);
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_watcher_is_asked_for_and_never_overwrites_an_open_document() {
    let root = Root::new();
    let mut client = Client::within(Around { idle: Duration::from_secs(3600), ..Around::default() });
    client.greet(json!({ "workspace": { "didChangeWatchedFiles": { "dynamicRegistration": true } } }));
    let plan = root.uri("saturday.plan.kdl");
    client.open(&plan, 1, PLAN);
    client.findings_when(&plan, |params| !misses_cylinder(params));
    let is_it = |message: &Value| message["method"] == "client/registerCapability";
    if !client.asked.iter().any(is_it) {
        client.wait("a registration", is_it);
    }

    root.write("kit.kit.kdl", "");
    let changed = json!({ "changes": [{ "uri": root.uri("kit.kit.kdl"), "type": 2 }] });
    client.notify("workspace/didChangeWatchedFiles", changed.clone());
    client.findings_when(&plan, misses_cylinder);

    // Open, the client's word holds, whatever is written below it.
    client.open(&root.uri("kit.kit.kdl"), 1, KIT);
    client.findings_when(&plan, |params| !misses_cylinder(params));
    root.write("kit.kit.kdl", "// nothing\n");
    root.write("saturday.plan.kdl", "// nothing\n");
    let both = json!({ "changes": [
        { "uri": root.uri("kit.kit.kdl"), "type": 2 },
        { "uri": plan, "type": 3 },
    ] });
    client.notify("workspace/didChangeWatchedFiles", both);
    client.change(&plan, 2, &json!([{ "text": PLAN.replace("Saturday", "Sunday") }]));
    let findings = client.findings(&plan, 2);
    assert!(!misses_cylinder(&json!({ "diagnostics": findings })), "{findings:#?}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_root_file_that_appears_moves_its_documents() {
    let root = Root::new();
    fs::create_dir(root.path("plans")).expect("made");
    fs::remove_file(root.path("leadsman.kdl")).expect("removed");
    let plan = root.uri("plans/saturday.plan.kdl");
    let text = PLAN.replace("kit.kit.kdl", "../kit.kit.kdl");
    let mut client = Client::within(Around { idle: Duration::from_secs(3600), ..Around::default() });
    client.greet(json!({}));
    client.open(&plan, 1, &text);
    // Without a root above, a plan sees no further than its own folder.
    client.findings_when(&plan, misses_cylinder);
    root.write("leadsman.kdl", "");
    let changed = json!({ "changes": [{ "uri": root.uri("leadsman.kdl"), "type": 1 }] });
    client.notify("workspace/didChangeWatchedFiles", changed);
    client.findings_when(&plan, |params| !misses_cylinder(params));
    assert_eq!(client.leave(), 0);
}

#[test]
fn an_unsaved_document_is_checked_where_its_language_says_it_is_a_plan() {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    let document = json!({ "uri": "untitled:Untitled-1", "languageId": "leadsman", "version": 1, "text": "plna\n" });
    client.notify("textDocument/didOpen", json!({ "textDocument": document }));
    assert!(!client.findings("untitled:Untitled-1", 1).is_empty());
    assert_eq!(client.leave(), 0);
}

#[test]
fn other_files_of_the_same_language_are_left_alone() {
    let root = Root::new();
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(&root.uri("config.kdl"), 1, "window width=5\n");
    client.change(&root.uri("config.kdl"), 2, &json!([{ "text": "window width=6\n" }]));
    client.close(&root.uri("config.kdl"));
    client.open(&root.uri("saturday.plan.kdl"), 1, PLAN);
    client.findings(&root.uri("saturday.plan.kdl"), 1);
    let other = root.uri("config.kdl");
    assert!(client.told().iter().all(|message| message["params"]["uri"] != other));
    assert_eq!(client.leave(), 0);
}
