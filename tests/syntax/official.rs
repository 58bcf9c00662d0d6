//! The official KDL 2 cases, as the `kdl` crate's package carries them.

use std::path::PathBuf;

use leadsman::syntax::Tree;

/// The folder of the cases.
fn cases() -> PathBuf {
    let metadata = cargo_metadata::MetadataCommand::new()
        .manifest_path(concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml"))
        .other_options(vec!["--offline".to_owned(), "--locked".to_owned()])
        .exec()
        .expect("cargo knows its own packages");
    let kdl = metadata.packages.iter().find(|package| package.name.as_str() == "kdl").expect("kdl is used");
    kdl.manifest_path.parent().expect("it lies in a folder").join("tests/test_cases/input").into()
}

pub fn inputs() -> Vec<(String, String)> {
    let mut inputs: Vec<_> = std::fs::read_dir(cases())
        .expect("the package carries the cases")
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "kdl"))
        .map(|path| (path.file_stem().unwrap().to_string_lossy().into_owned(), std::fs::read_to_string(&path).unwrap()))
        .collect();
    inputs.sort();
    inputs
}

#[test]
fn every_valid_case_reads_and_every_invalid_one_does_not() {
    let inputs = inputs();
    assert!(inputs.len() > 300, "only {} cases", inputs.len());
    let mut wrong = Vec::new();
    for (name, text) in &inputs {
        let errors = Tree::parse(text);
        let errors = errors.errors();
        if errors.is_empty() == name.ends_with("_fail") {
            wrong.push(format!("{name}: {text:?}\n  {errors:?}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), inputs.len(), wrong.join("\n"));
}
