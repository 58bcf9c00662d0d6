//! The official KDL 2 cases, as the `kdl` crate's package carries them.

use std::path::PathBuf;
use std::process::Command;

use leadsman::syntax::Tree;

/// The triple of the machine that compiles.
fn host() -> String {
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let said = Command::new(&rustc).arg("-vV").output().unwrap_or_else(|error| panic!("{}: {error}", rustc.display()));
    let said = String::from_utf8(said.stdout).expect("it says text");
    said.lines().find_map(|line| line.strip_prefix("host: ")).expect("it says its host").to_owned()
}

/// The folder of the cases. What other systems would need is left out: a machine that has only built the tests has never
/// fetched it.
fn cases() -> PathBuf {
    let options = ["--offline", "--locked", "--filter-platform"].map(str::to_owned).into_iter().chain([host()]);
    let metadata = cargo_metadata::MetadataCommand::new()
        .manifest_path(concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml"))
        .other_options(options.collect::<Vec<_>>())
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
    // The suite has since taken this one as good, `zero_space_before_slashdash_arg`, and so is it here; the crate's package
    // carries the suite as it was before.
    let since = "zero_space_before_slashdash_arg_fail";
    assert!(
        inputs.iter().any(|(name, _)| name == since),
        "the package carries the suite of now: nothing is told apart"
    );
    for zero_space in ["node \"string\"/-1\n", "node \"string\"/-foo=1\n", "node /-1\n", "node/-1 2\n", "a b=1/-{\n}\n"]
    {
        assert_eq!(Tree::parse(zero_space).errors().len(), 0, "{zero_space}");
    }
    for (name, text) in inputs.iter().filter(|(name, _)| name != since) {
        let errors = Tree::parse(text);
        let errors = errors.errors();
        if errors.is_empty() == name.ends_with("_fail") {
            wrong.push(format!("{name}: {text:?}\n  {errors:?}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), inputs.len(), wrong.join("\n"));
}
