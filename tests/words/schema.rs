//! The published description is what the table says.

use std::path::Path;

use leadsman::words::vocabulary;

use super::made::{kdl_schema, vocabulary_json};

/// Holds a generated file to what would be generated now, or writes it anew where `LEADSMAN_BLESS` asks for it.
fn held(name: &str, made: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema").join(name);
    if std::env::var_os("LEADSMAN_BLESS").is_some() {
        std::fs::write(&path, made).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(kept == made, "schema/{name} is stale: write it anew with `LEADSMAN_BLESS=1 cargo test schema`");
}

#[test]
fn schema_vocabulary_is_what_the_table_says() {
    held("vocabulary.json", &vocabulary_json());
}

#[test]
fn schema_in_kdl_is_what_the_table_says() {
    held("plan.kdl-schema", &kdl_schema());
}

#[test]
fn schema_in_kdl_can_be_read() {
    let schema: kdl::KdlDocument = kdl_schema().parse().unwrap();
    let document = schema.get("document").unwrap().children().unwrap();
    let definitions = document.get("definitions").unwrap().children().unwrap();
    assert_eq!(definitions.nodes().len(), vocabulary().count());
}

#[test]
fn schema_in_json_can_be_read() {
    let json: serde_json::Value = serde_json::from_str(&vocabulary_json()).unwrap();
    assert_eq!(json["words"].as_array().unwrap().len(), vocabulary().count());
}
