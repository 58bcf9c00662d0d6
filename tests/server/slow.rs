//! Answers that take their time, and answers that fail.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex};
use std::time::Duration;

use leadsman::archive::{Disk, Host, HostError, Walked};
use leadsman::server::Around;
use serde_json::{Value, json};

use super::client::{Client, uri};

/// Holds every hover until it is let go.
#[derive(Default)]
struct Held {
    state: Mutex<(usize, bool)>,
    changed: Condvar,
}

impl Held {
    fn hold(&self) {
        let mut state = self.state.lock().expect("held");
        state.0 += 1;
        self.changed.notify_all();
        drop(self.changed.wait_timeout_while(state, Duration::from_secs(60), |state| !state.1).expect("held"));
    }

    /// Waits until some answers are held.
    fn wait(&self, count: usize) {
        let state = self.state.lock().expect("held");
        let waited = self.changed.wait_timeout_while(state, Duration::from_secs(30), |state| state.0 < count);
        assert!(!waited.expect("held").1.timed_out(), "no {count} answers are held");
    }

    fn let_go(&self) {
        self.state.lock().expect("held").1 = true;
        self.changed.notify_all();
    }
}

fn at(uri: &str) -> Value {
    json!({ "textDocument": { "uri": uri }, "position": { "line": 0, "character": 1 } })
}

#[test]
fn slow_answers_hold_back_neither_an_edit_nor_a_cancellation() {
    let held = Arc::new(Held::default());
    let hold = held.clone();
    let before = move |method: &str| {
        if method == "textDocument/hover" {
            hold.hold();
        }
    };
    let mut client = Client::within(Around { before: Some(Arc::new(before)), ..Around::default() });
    client.greet(json!({}));
    let folder = tempfile::tempdir().expect("a folder");
    let uri = uri(&folder.path().join("saturday.plan.kdl"));
    client.open(&uri, 1, "plan \"a\" on=\"2027-05-15\" {\n}\n");
    client.findings(&uri, 1);
    let slow: Vec<i64> = (0..8).map(|_| client.ask("textDocument/hover", at(&uri))).collect();
    held.wait(4);

    // An edit is taken, and its findings come, while all eight wait.
    client.change(&uri, 2, &json!([{ "text": "plna \"a\"\n" }]));
    assert!(!client.findings(&uri, 2).is_empty());
    // One that is being worked out and one that hasn't begun are cancelled at once.
    for cancelled in [slow[0], slow[7]] {
        client.notify("$/cancelRequest", json!({ "id": cancelled }));
        assert_eq!(client.reply(cancelled)["error"]["code"], -32800);
    }
    held.let_go();
    for answered in &slow[1..7] {
        let answer = client.reply(*answered);
        assert!(answer.get("error").is_none(), "{answer}");
    }
    // A cancellation of what has been answered, or was never asked, is not minded.
    client.notify("$/cancelRequest", json!({ "id": slow[1] }));
    client.notify("$/cancelRequest", json!({ "id": "never" }));
    assert_eq!(client.leave(), 0);
}

#[test]
fn slow_answers_do_not_hold_back_the_end() {
    let held = Arc::new(Held::default());
    let hold = held.clone();
    let around = Around { before: Some(Arc::new(move |_: &str| hold.hold())), ..Around::default() };
    let mut client = Client::within(around);
    client.greet(json!({}));
    for _ in 0..8 {
        client.ask("textDocument/hover", at("file:///nowhere/a.plan.kdl"));
    }
    held.wait(1);
    client.answer("shutdown", Value::Null);
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), 0);
    held.let_go();
}

#[test]
fn a_panic_is_that_requests_error_and_the_server_goes_on() {
    let before = |method: &str| assert!(method != "textDocument/hover", "hovering fails");
    let mut client = Client::within(Around { before: Some(Arc::new(before)), ..Around::default() });
    client.greet(json!({}));
    for _ in 0..20 {
        let answer = client.answer("textDocument/hover", at("file:///nowhere/a.plan.kdl"));
        assert_eq!(answer["error"]["code"], -32603);
        assert!(answer["error"]["message"].as_str().expect("text").contains("hovering fails"), "{answer}");
    }
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 0 } });
    let asked = json!({
        "textDocument": { "uri": "file:///nowhere/a.plan.kdl" }, "range": range, "context": { "diagnostics": [] }
    });
    assert!(client.answer("textDocument/codeAction", asked).get("error").is_none());
    assert_eq!(client.leave(), 0);
}

#[test]
fn more_requests_than_can_be_under_way_are_refused_not_kept() {
    let held = Arc::new(Held::default());
    let hold = held.clone();
    let around = Around { before: Some(Arc::new(move |_: &str| hold.hold())), ..Around::default() };
    let mut client = Client::within(around);
    client.greet(json!({}));
    let all: Vec<i64> =
        (0..1_100).map(|_| client.ask("textDocument/hover", at("file:///nowhere/a.plan.kdl"))).collect();
    assert_eq!(client.reply(*all.last().expect("some"))["error"]["code"], -32803);
    client.notify("$/cancelRequest", json!({ "id": all[0] }));
    assert_eq!(client.reply(all[0])["error"]["code"], -32800);
    held.let_go();
    assert!(client.reply(all[1]).get("error").is_none());
    assert_eq!(client.leave(), 0);
}

/// A disk that takes its time over every file.
#[derive(Debug)]
struct SlowDisk;

impl Host for SlowDisk {
    fn read(&self, path: &Path) -> Result<Vec<u8>, HostError> {
        std::thread::sleep(Duration::from_millis(80));
        Disk.read(path)
    }

    fn is_file(&self, path: &Path) -> bool {
        Disk.is_file(path)
    }

    fn canonical(&self, path: &Path) -> Result<PathBuf, HostError> {
        Disk.canonical(path)
    }

    fn walk(&self, below: &Path, root: &Path) -> Walked {
        Disk.walk(below, root)
    }
}

#[test]
fn a_turn_of_the_loop_that_somebody_felt_is_logged() {
    let (told, log) = std::sync::mpsc::channel();
    let told = Mutex::new(told);
    let log_to = move |line: &str| told.lock().expect("told").send(line.to_owned()).expect("somebody reads");
    let around = Around { host: Arc::new(SlowDisk), log: Arc::new(log_to), ..Around::default() };
    let mut client = Client::within(around);
    client.greet(json!({}));
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("leadsman.kdl"), "").expect("written");
    let kit = folder.path().join("kit.kit.kdl");
    std::fs::write(&kit, "diver \"Rowan\"\n").expect("written");
    let plan = uri(&folder.path().join("saturday.plan.kdl"));
    client.open(&plan, 1, "use \"kit.kit.kdl\"\nplan \"a\" on=\"2027-05-15\" {\n}\n");
    client.findings(&plan, 1);
    // What has changed on disk is read where the archives are told of it.
    std::fs::write(&kit, "diver \"Ines\"\n").expect("written");
    let changed = json!({ "changes": [{ "uri": uri(&kit), "type": 2 }] });
    client.notify("workspace/didChangeWatchedFiles", changed);
    let line = log.recv_timeout(Duration::from_secs(60)).expect("a line of the log");
    assert!(line.starts_with("a turn of the loop took "), "{line}");
    assert_eq!(client.leave(), 0);
}
