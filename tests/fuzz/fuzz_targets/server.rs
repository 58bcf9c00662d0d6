//! Whatever an editor says between its greeting and its leave, in messages or in any bytes: the server neither panics nor
//! hangs, and one that was asked to shut down ends in order.
#![no_main]

use std::io::{Cursor, sink};
use std::sync::Arc;

use leadsman::archive::Memory;
use leadsman::server::{Around, run};
use libfuzzer_sys::fuzz_target;
use serde_json::{Value, json};

const URI: &str = "file:///club/a.plan.kdl";
/// What is asked about a document after each change, one after the other.
const ASKED: [&str; 5] = [
    "textDocument/hover",
    "textDocument/completion",
    "textDocument/inlayHint",
    "textDocument/codeAction",
    "textDocument/diagnostic",
];

fn framed(body: &[u8], out: &mut Vec<u8>) {
    out.extend_from_slice(format!("Content-Length: {}\r\n\r\n", body.len()).as_bytes());
    out.extend_from_slice(body);
}

fn said(message: &Value, out: &mut Vec<u8>) {
    framed(message.to_string().as_bytes(), out);
}

fuzz_target!(|bytes: &[u8]| {
    let mut stream = Vec::new();
    let greeting = json!({ "processId": null, "rootUri": "file:///club", "capabilities": {} });
    said(&json!({ "jsonrpc": "2.0", "id": 0, "method": "initialize", "params": greeting }), &mut stream);
    said(&json!({ "jsonrpc": "2.0", "method": "initialized", "params": {} }), &mut stream);
    let document = json!({ "uri": URI, "languageId": "leadsman", "version": 0, "text": "" });
    said(
        &json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen", "params": { "textDocument": document } }),
        &mut stream,
    );
    let mut in_order = true;
    // Zero bytes part what is said: a text for the document, or a body as it is, or bytes with no frame about them.
    for (number, part) in bytes.split(|byte| *byte == 0).enumerate() {
        match part.split_first() {
            Some((b'{', _)) => framed(part, &mut stream),
            Some((b'\x01', rest)) => stream.extend_from_slice(rest),
            _ => {
                let text = String::from_utf8_lossy(part);
                let change = json!({
                    "textDocument": { "uri": URI, "version": number + 1 }, "contentChanges": [{ "text": text }]
                });
                said(&json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": change }), &mut stream);
                let position = json!({ "line": number % 7, "character": part.len() % 80 });
                let asked = json!({
                    "textDocument": { "uri": URI }, "position": position, "range": { "start": position, "end": position },
                    "context": { "diagnostics": [] }
                });
                let method = ASKED[number % ASKED.len()];
                said(&json!({ "jsonrpc": "2.0", "id": number + 1, "method": method, "params": asked }), &mut stream);
                continue;
            }
        }
        // What was said may have been the leave, or the beginning of a message that swallows it.
        in_order = false;
    }
    said(&json!({ "jsonrpc": "2.0", "id": "last", "method": "shutdown" }), &mut stream);
    said(&json!({ "jsonrpc": "2.0", "method": "exit" }), &mut stream);
    let around = Around { host: Arc::new(Memory::new()), ..Around::default() };
    let orderly = run(Cursor::new(stream), sink(), around).expect("threads to serve on");
    assert!(orderly || !in_order);
});
