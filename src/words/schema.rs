//! The vocabulary as a published description.

/// The vocabulary as JSON.
pub fn vocabulary_json() -> String {
    String::new()
}

/// The vocabulary in the KDL Schema Language.
pub fn kdl_schema() -> String {
    String::new()
}
