//! What was accepted, in the editor.

use std::fs;

use serde_json::json;

use super::client::{Client, uri};
use crate::cli::leadsman;

const PLAN: &str = r#"plan "Shelf" on="2027-05-15" status=draft {
    dive "morning" {
        descend 12 rate=30
        stay 10
        ascend
        diver "Rowan"
    }
}
diver "Rowan"
"#;

#[test]
fn what_is_accepted_meanwhile_is_no_more_than_a_hint() {
    let folder = tempfile::tempdir().unwrap();
    let root = fs::canonicalize(folder.path()).unwrap();
    let (path, accepted) = (root.join("old.plan.kdl"), root.join("leadsman.accepted.json"));
    fs::write(root.join("leadsman.kdl"), "").unwrap();
    fs::write(&path, PLAN).unwrap();
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(&uri(&path), 1, PLAN);
    let severity = |findings: &[serde_json::Value]| {
        let fast = findings.iter().find(|finding| finding["code"] == "descent-fast").unwrap();
        (fast["severity"].as_u64().unwrap(), fast["message"].as_str().unwrap().contains("(accepted in"))
    };
    assert_eq!(severity(&client.findings(&uri(&path), 1)), (2, false));
    assert!(leadsman(&root).args(["check", "--accept"]).output().unwrap().status.success());
    let watched = |kind: u8| json!({ "changes": [{ "uri": uri(&accepted), "type": kind }] });
    client.notify("workspace/didChangeWatchedFiles", watched(1));
    let hint = |params: &serde_json::Value| severity(params["diagnostics"].as_array().unwrap()) == (4, true);
    client.findings_when(&uri(&path), hint);
    fs::remove_file(&accepted).unwrap();
    client.notify("workspace/didChangeWatchedFiles", watched(3));
    client.findings_when(&uri(&path), |params| !hint(params));
    assert_eq!(client.leave(), 0);
}
