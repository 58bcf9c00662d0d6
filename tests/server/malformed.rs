//! Messages that are none.

use serde_json::{Value, json};

use super::client::{Client, framed};

fn body(text: &str) -> Vec<u8> {
    format!("Content-Length: {}\r\n\r\n{text}", text.len()).into_bytes()
}

/// Sends something that is no message: the code of the answer, and that the server goes on.
fn code_for(bytes: &[u8]) -> Value {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.raw(bytes);
    let after = client.ask("leadsman/nothing", json!({}));
    let answer = client.wait("an error", |message| message.get("error").is_some() && message["id"] != after);
    assert_eq!(client.reply(after)["error"]["code"], -32601, "the server still answers");
    assert_eq!(client.leave(), 0);
    answer
}

#[test]
fn what_is_no_json_is_a_parse_error() {
    for bytes in [body("{\"jsonrpc\":\"2.0\",\"method\":"), body("\u{0}"), body(""), body(&"[".repeat(100_000))] {
        let answer = code_for(&bytes);
        assert_eq!((&answer["error"]["code"], &answer["id"]), (&json!(-32700), &Value::Null));
    }
    let mut bytes = b"Content-Length: 4\r\n\r\n".to_vec();
    bytes.extend([b'"', 0xff, 0xfe, b'"']);
    assert_eq!(code_for(&bytes)["error"]["code"], -32700);
}

#[test]
fn what_is_no_message_is_an_invalid_request() {
    assert_eq!(code_for(&body("[]"))["error"]["code"], -32600);
    assert_eq!(code_for(&body("17"))["error"]["code"], -32600);
    assert_eq!(code_for(&body("{\"jsonrpc\":\"2.0\"}"))["error"]["code"], -32600);
    let answer = code_for(&body("{\"jsonrpc\":\"2.0\",\"id\":\"x\",\"method\":7}"));
    assert_eq!((&answer["error"]["code"], &answer["id"]), (&json!(-32600), &json!("x")));
}

#[test]
fn a_broken_header_is_passed_over() {
    for bytes in [
        &b"Content-Length: many\r\n\r\n"[..],
        b"Content-Length: 99999999999999999999999\r\n\r\n",
        b"Content-Length: 4000000000\r\n\r\n",
        b"Content-Type: text/plain\r\nnonsense\r\n\r\n",
        b"no header at all",
    ] {
        assert_eq!(code_for(bytes)["error"]["code"], -32700, "{}", String::from_utf8_lossy(bytes));
    }
}

#[test]
fn parameters_that_do_not_fit_are_that_requests_error() {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    assert_eq!(client.answer("textDocument/hover", json!({ "position": "here" }))["error"]["code"], -32602);
    assert_eq!(client.answer("textDocument/hover", json!([1, 2]))["error"]["code"], -32602);
    assert_eq!(client.answer("$/unheard-of", json!({}))["error"]["code"], -32601);
    // A notification is not answered, whatever is wrong with it; neither is an answer to nothing we asked.
    client.notify("textDocument/didChange", json!({ "textDocument": 5 }));
    client.notify("textDocument/didChange", json!({ "textDocument": { "uri": "file:///never/opened.plan.kdl", "version": 1 }, "contentChanges": [{ "text": "plan" }] }));
    client.notify("$/unheard-of", json!({}));
    client.raw(&framed(&json!({ "jsonrpc": "2.0", "id": 4711, "result": {} })));
    client.raw(&framed(&json!({ "jsonrpc": "2.0", "id": {}, "error": "what" })));
    assert_eq!(client.leave(), 0);
}
