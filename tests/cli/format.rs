//! `leadsman format` as it is run.

use leadsman::CAUTION;

use super::{Folder, GOOD};

const UNTIDY: &str = "diver \"Rowan\"   {\n  fit   until=\"2027-12-31\"\n}";
const TIDY: &str = "diver \"Rowan\" {\n    fit until=\"2027-12-31\"\n}\n";

#[test]
fn files_are_laid_out_and_said_how_many() {
    let folder = Folder::new(&[
        ("a.kit.kdl", UNTIDY),
        ("deep/down/b.kit.kdl", UNTIDY),
        ("c.kit.kdl", TIDY),
        ("other.kdl", UNTIDY),
    ]);
    let ran = folder.run(&["format"]);
    assert_eq!((ran.code, &*ran.out), (Some(0), ""));
    assert_eq!(ran.err, format!("leadsman: 2 files laid out anew\nleadsman: {CAUTION}\n"));
    for (file, text) in [("a.kit.kdl", TIDY), ("deep/down/b.kit.kdl", TIDY), ("c.kit.kdl", TIDY), ("other.kdl", UNTIDY)]
    {
        assert_eq!(String::from_utf8(folder.read(file)).unwrap(), text, "{file}");
    }
    let again = folder.run(&["format", "."]);
    assert_eq!(
        (again.code, &*again.err),
        (Some(0), &*format!("leadsman: 0 files laid out anew\nleadsman: {CAUTION}\n"))
    );
    // A file is laid out whatever its name.
    assert_eq!(folder.run(&["format", "other.kdl"]).code, Some(0));
    assert_eq!(String::from_utf8(folder.read("other.kdl")).unwrap(), TIDY);
}

#[test]
fn what_would_change_is_listed_or_drawn_and_left() {
    let folder = Folder::new(&[("a.kit.kdl", UNTIDY), ("c.kit.kdl", TIDY)]);
    let ran = folder.run(&["format", "--check"]);
    assert_eq!((ran.code, &*ran.out), (Some(1), "a.kit.kdl\n"));
    assert_eq!(ran.err, format!("leadsman: 1 file would be laid out otherwise\nleadsman: {CAUTION}\n"));
    let ran = folder.run(&["format", "--diff"]);
    assert_eq!(ran.code, Some(1));
    assert!(
        ran.out.contains("-  fit   until=\"2027-12-31\"\n") && ran.out.contains("+    fit until=\"2027-12-31\"\n"),
        "{}",
        ran.out
    );
    assert_eq!(folder.read("a.kit.kdl"), UNTIDY.as_bytes());
    assert_eq!(folder.run(&["format", "--check", "c.kit.kdl"]).code, Some(0));
    assert_eq!(folder.run(&["format", "--check", "nowhere.kit.kdl"]).code, Some(2));
}

#[test]
fn standard_input_goes_to_standard_output() {
    let folder = Folder::new(&[]);
    let ran = folder.run_with(&["format", "--stdin", "--path", "new.kit.kdl"], UNTIDY.as_bytes());
    assert_eq!((ran.code, &*ran.out), (Some(0), TIDY));
    assert_eq!(ran.err, format!("leadsman: {CAUTION}\n"));
    // What is no text comes out as it went in.
    folder.write("odd.kit.kdl", b"a   \"\xff\"\n");
    let odd = std::fs::File::open(folder.path("odd.kit.kdl")).unwrap();
    let mut command = super::leadsman(folder.root());
    let ran = command.args(["format", "--stdin", "--path", "new.kit.kdl"]).stdin(odd).output().unwrap();
    assert_eq!((ran.status.code(), &*ran.stdout), (Some(2), &b"a   \"\xff\"\n"[..]));
}

#[test]
fn what_does_not_read_is_left_with_a_word() {
    let folder = Folder::new(&[("a.kit.kdl", "diver   \"Rowan\"\nstay   12m\n")]);
    folder.write("b.kit.kdl", b"diver   \"\xff\"\n");
    let ran = folder.run(&["format"]);
    assert_eq!(ran.code, Some(0));
    assert!(ran.err.contains("a.kit.kdl:2: what has a fault is left as it is: "), "{}", ran.err);
    assert!(ran.err.contains("left b.kit.kdl as it is: it holds bytes that are not UTF-8"), "{}", ran.err);
    assert_eq!(folder.read("a.kit.kdl"), b"diver \"Rowan\"\nstay   12m\n");
    assert_eq!(folder.read("b.kit.kdl"), b"diver   \"\xff\"\n");
}

#[cfg(unix)]
#[test]
fn links_and_modes_are_kept() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = Folder::new(&[("a.kit.kdl", UNTIDY), ("twice.kit.kdl", UNTIDY), ("read-only.kit.kdl", UNTIDY)]);
    symlink(folder.path("a.kit.kdl"), folder.path("link.kit.kdl")).unwrap();
    std::fs::hard_link(folder.path("twice.kit.kdl"), folder.path("too.kit.kdl")).unwrap();
    let mode = |name: &str| std::fs::metadata(folder.path(name)).unwrap().permissions().mode() & 0o777;
    std::fs::set_permissions(folder.path("a.kit.kdl"), std::fs::Permissions::from_mode(0o640)).unwrap();
    std::fs::set_permissions(folder.path("read-only.kit.kdl"), std::fs::Permissions::from_mode(0o444)).unwrap();
    let ran = folder.run(&["format"]);
    assert_eq!(ran.code, Some(2), "{}", ran.err);
    assert!(
        ran.err.contains("1 file laid out anew") && ran.err.contains("hard links") && ran.err.contains("only be read"),
        "{}",
        ran.err
    );
    assert_eq!((folder.read("a.kit.kdl"), mode("a.kit.kdl")), (TIDY.as_bytes().to_vec(), 0o640));
    assert!(std::fs::symlink_metadata(folder.path("link.kit.kdl")).unwrap().is_symlink());
    assert_eq!(folder.read("twice.kit.kdl"), UNTIDY.as_bytes());
}

/// What the project brings, and what its commands begin, is laid out as its own command would.
#[test]
fn what_we_write_ourselves_needs_no_laying_out() {
    let examples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let ran = super::Ran::of(super::leadsman(&examples).args(["format", "--check", "."]).output().unwrap());
    assert_eq!((ran.code, &*ran.out), (Some(0), ""), "{}", ran.err);

    let folder = Folder::new(&[("good.plan.kdl", GOOD)]);
    assert_eq!(folder.run(&["init", "club"]).code, Some(0));
    let ran = folder.run(&["format", "--check", "club"]);
    assert_eq!((ran.code, &*ran.out), (Some(0), ""), "{}", ran.err);
}
