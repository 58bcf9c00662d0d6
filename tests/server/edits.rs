//! Edits: what the server has after them is what the client has.

use serde_json::{Value, json};

use super::client::{Client, uri};

/// A plan that raises something on nearly every line, with text outside ASCII before it.
const PLAN: &str = "// m³ °C é 😀\nplan \"m³ °C é 😀\" on=\"2027-05-15\" {\n    site \"é 😀\" watr=fresh\n    dive \"°C\" {\n        descned 20\n        stay 30 wrok=light\n        ascend\n    }\n}\n";

/// Numbers that look random and are the same every time (a 64-bit linear congruential generator, Knuth's MMIX).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("31 bits") % end
    }
}

/// The client's own copy of a document: lines of UTF-16, as a client without another encoding counts.
struct Copy {
    units: Vec<u16>,
}

impl Copy {
    fn position(&self, offset: usize) -> Value {
        let before = &self.units[..offset];
        let line = before.iter().filter(|unit| **unit == u16::from(b'\n')).count();
        let start = before.iter().rposition(|unit| *unit == u16::from(b'\n')).map_or(0, |at| at + 1);
        json!({ "line": line, "character": offset - start })
    }

    /// An offset that doesn't cut a character in two.
    fn whole(&self, offset: usize) -> usize {
        let low = |unit: &u16| (0xdc00..0xe000).contains(unit);
        if self.units.get(offset).is_some_and(low) { offset - 1 } else { offset }
    }

    fn text(&self) -> String {
        String::from_utf16(&self.units).expect("whole characters")
    }

    /// Changes the copy, and says the change as a client does.
    fn change(&mut self, numbers: &mut Numbers) -> Value {
        const BITS: [&str; 12] =
            ["\n", "😀", "é", "m³", "depth 12\n", "{", "}", "\"", " work=light", "stay 9", "/*", "=°C "];
        let length = self.units.len();
        let from = self.whole(numbers.below(length + 1));
        // Mostly typing; now and then a piece goes, more of it where the text has grown.
        let gone = if numbers.below(3) == 0 { numbers.below(if length > 900 { 90 } else { 12 }) } else { 0 };
        let to = self.whole((from + gone).min(length));
        let new = BITS[numbers.below(BITS.len())];
        let range = json!({ "start": self.position(from), "end": self.position(to) });
        self.units.splice(from..to, new.encode_utf16());
        json!({ "range": range, "text": new })
    }
}

#[test]
fn ten_thousand_edits_end_in_the_right_state() {
    let folder = tempfile::tempdir().expect("a folder");
    let uri = uri(&folder.path().join("saturday.plan.kdl"));
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(&uri, 0, PLAN);
    let mut copy = Copy { units: PLAN.encode_utf16().collect() };
    let mut numbers = Numbers(crate::seed::or(4711));
    let (mut edits, mut version) = (0, 0);
    while edits < 10_000 {
        let count = 1 + numbers.below(4);
        let changes: Vec<Value> = (0..count).map(|_| copy.change(&mut numbers)).collect();
        (edits, version) = (edits + count, version + 1);
        client.change(&uri, version, &json!(changes));
    }
    let garbled = client.findings(&uri, version);
    assert_eq!(garbled, fresh(&uri, &copy.text()), "after {edits} edits: {:?}", copy.text());
    assert!(!garbled.is_empty());

    // And back to something that reads, by one edit over all of it whose end lies far outside.
    let all =
        json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 2_147_483_647, "character": 2_147_483_647 } });
    client.change(&uri, version + 1, &json!([{ "range": all, "text": PLAN }]));
    let mended = client.findings(&uri, version + 1);
    assert_eq!(mended, fresh(&uri, PLAN));
    assert_eq!(client.leave(), 0);
}

/// The findings of a text that is opened as it is.
fn fresh(uri: &str, text: &str) -> Vec<Value> {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(uri, 1, text);
    let findings = client.findings(uri, 1);
    assert_eq!(client.leave(), 0);
    findings
}

/// Columns of `watr=` and `wrok=` in each encoding: `    site "é 😀" ` is 4 + 5 + 1 + é + 1 + 😀 + 2 wide, with é 2, 1
/// and 1 and 😀 4, 2 and 1 units wide.
#[test]
fn columns_count_in_the_encoding_agreed_on() {
    for (offered, agreed, column) in [
        (json!(["utf-16", "utf-8", "utf-32"]), "utf-8", 19),
        (json!(["utf-32", "utf-16"]), "utf-32", 15),
        (json!(["utf-16"]), "utf-16", 16),
        (Value::Null, "utf-16", 16),
    ] {
        let folder = tempfile::tempdir().expect("a folder");
        let uri = uri(&folder.path().join("m³ °C é 😀.plan.kdl"));
        let mut client = Client::of_binary();
        let answer = client.greet(json!({ "general": { "positionEncodings": offered } }));
        assert_eq!(answer["positionEncoding"], agreed);
        client.open(&uri, 1, PLAN);
        let findings = client.findings(&uri, 1);
        let wrong = findings.iter().find(|finding| finding["message"].as_str().expect("text").contains("watr"));
        let wrong = wrong.unwrap_or_else(|| panic!("nothing about `watr`: {findings:#?}"));
        assert_eq!(wrong["range"]["start"], json!({ "line": 2, "character": column }), "{agreed}: {wrong:#}");
        assert_eq!(wrong["range"]["end"]["line"], 2);

        // An edit at the same column meets the same word.
        let range = json!({
            "start": { "line": 2, "character": column },
            "end": { "line": 2, "character": column + 4 },
        });
        client.change(&uri, 2, &json!([{ "range": range, "text": "water" }]));
        let left = client.findings(&uri, 2);
        assert!(left.iter().all(|finding| finding["range"]["start"]["line"] != 2), "{agreed}: {left:#?}");
        assert_eq!(client.leave(), 0);
    }
}

#[test]
fn findings_name_the_version_they_are_of_and_go_when_the_document_is_closed() {
    let folder = tempfile::tempdir().expect("a folder");
    let uri = uri(&folder.path().join("saturday.plan.kdl"));
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.open(&uri, 7, PLAN);
    assert!(!client.findings(&uri, 7).is_empty());
    client.close(&uri);
    let left = client.findings_when(&uri, |params| params.get("version").is_none());
    assert_eq!(left, Vec::<Value>::new());
    // What is said of a closed document afterwards is not minded.
    client.change(&uri, 8, &json!([{ "text": "plan" }]));
    client.open(&uri, 9, PLAN);
    assert!(!client.findings(&uri, 9).is_empty());
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_client_that_never_reads_holds_nothing_up() {
    let folder = tempfile::tempdir().expect("a folder");
    let uri = uri(&folder.path().join("saturday.plan.kdl"));
    let mut client = Client::deaf();
    let greeting = json!({ "processId": null, "rootUri": null, "capabilities": {} });
    client.ask("initialize", greeting);
    client.notify("initialized", json!({}));
    client.open(&uri, 0, PLAN);
    // Hundreds of findings a version: were each version told, far more than the 64 kB that a pipe holds.
    let many = "descned 20\n".repeat(20);
    for version in 1..=2_000 {
        let start = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 0 } });
        client.change(
            &uri,
            version,
            &json!([{ "range": start, "text": if version < 60 { many.as_str() } else { " " } }]),
        );
        if version % 10 == 0 {
            let at = json!({ "textDocument": { "uri": uri }, "position": { "line": 5, "character": 5 } });
            client.ask("textDocument/hover", at);
        }
    }
    let shut_down = client.ask("shutdown", Value::Null);
    // All of it was taken without a word being read. Now we read.
    client.listen();
    assert!(client.reply(shut_down).get("error").is_none());
    let told = client.told().iter().filter(|message| message["method"] == "textDocument/publishDiagnostics").count();
    assert!(told < 20, "of 2,000 versions the findings of {told} were kept");
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), 0);

    // And one that never does is left in the end.
    let mut client = Client::deaf();
    client.ask("initialize", json!({ "processId": null, "rootUri": null, "capabilities": {} }));
    client.notify("initialized", json!({}));
    for version in 0..100 {
        client.open(&format!("{uri}{version}.plan.kdl"), 1, &many);
    }
    client.ask("shutdown", Value::Null);
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), 0);
}
