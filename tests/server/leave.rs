//! How a client takes its leave.

use serde_json::{Value, json};

use super::client::Client;

fn shut_down(message: &Value) -> i32 {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.send(message);
    let answer = client.wait("the answer to shutdown", |answer| answer["id"] == "leave");
    assert!(answer.get("error").is_none(), "{answer}");
    assert_eq!(answer.get("result"), Some(&Value::Null));
    client.notify("exit", Value::Null);
    client.end()
}

#[test]
fn shutdown_takes_null_an_object_and_nothing() {
    assert_eq!(shut_down(&json!({ "jsonrpc": "2.0", "id": "leave", "method": "shutdown", "params": null })), 0);
    assert_eq!(shut_down(&json!({ "jsonrpc": "2.0", "id": "leave", "method": "shutdown", "params": {} })), 0);
    assert_eq!(shut_down(&json!({ "jsonrpc": "2.0", "id": "leave", "method": "shutdown" })), 0);
}

#[test]
fn exit_ends_the_process_though_its_input_stays_open() {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.answer("shutdown", Value::Null);
    client.send(&json!({ "jsonrpc": "2.0", "method": "exit", "params": {} }));
    // `end` keeps the pipe open while it waits.
    assert_eq!(client.end(), 0);
}

#[test]
fn exit_without_shutdown_is_a_failure() {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), 1);

    let mut client = Client::of_binary();
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), 1);
}

#[test]
fn a_client_that_is_gone_ends_the_server() {
    let mut client = Client::of_binary();
    client.greet(json!({}));
    client.hang_up();
    assert_eq!(client.end(), 1);
}

#[test]
fn after_shutdown_requests_are_refused_and_before_initialize_too() {
    let mut client = Client::of_binary();
    let hover = json!({ "textDocument": { "uri": "file:///a.plan.kdl" }, "position": { "line": 0, "character": 0 } });
    assert_eq!(client.answer("textDocument/hover", hover.clone())["error"]["code"], -32002);
    client.greet(json!({}));
    client.answer("shutdown", Value::Null);
    assert_eq!(client.answer("textDocument/hover", hover)["error"]["code"], -32600);
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), 0);
}
