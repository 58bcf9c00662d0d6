//! What is checked, and what the exit status says.

use std::io::Read;
use std::process::Stdio;

use super::{DATE, Folder, GOOD, is_honest, leadsman};

#[test]
fn the_exit_status_tells_the_asked_level() {
    let folder = Folder::new(&[("good.plan.kdl", GOOD), ("date.plan.kdl", DATE)]);
    let code = |args: &[&str]| folder.run(args).code;
    assert_eq!(code(&["check", "good.plan.kdl"]), Some(0));
    assert_eq!(code(&["check", "date.plan.kdl"]), Some(1));
    assert_eq!(code(&["check"]), Some(1));
    assert_eq!(code(&["check", "."]), Some(1));
    assert_eq!(code(&["check", "--fail-on", "never"]), Some(0));
    assert_eq!(code(&["check", "--fail-on=warning", "date.plan.kdl"]), Some(1));
    assert_eq!(code(&["check", "--fail-on=loud"]), Some(2));
}

#[test]
fn lower_levels_count_only_where_asked_for() {
    // A definition that nothing uses is a note.
    let text = format!("{GOOD}cylinder \"S12-03\" size=12\n");
    let folder = Folder::new(&[("note.plan.kdl", &text)]);
    let said = folder.run(&["check", "--format=line", "note.plan.kdl"]).out;
    assert!(said.contains(" note unused-definition: "), "{said}");
    assert!(!said.contains(" error ") && !said.contains(" warning "), "{said}");
    assert_eq!(folder.run(&["check", "--fail-on=warning"]).code, Some(0));
    assert_eq!(folder.run(&["check", "--fail-on=note"]).code, Some(1));
}

#[test]
fn what_cannot_be_checked_is_named_and_is_no_finding() {
    let folder = Folder::new(&[("good.plan.kdl", GOOD), ("empty/readme.txt", "nothing")]);
    for path in ["gone.plan.kdl", "gone/and/deeper", "empty"] {
        let ran = folder.run(&["check", path]);
        assert_eq!(ran.code, Some(2), "{ran:?}");
        assert!(ran.err.contains(path) && ran.out.is_empty(), "{ran:?}");
    }
    // The rest is checked nevertheless.
    let ran = folder.run(&["check", "gone.plan.kdl", "good.plan.kdl"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("gone.plan.kdl") && ran.out.contains("in 1 file"), "{ran:?}");
}

#[test]
fn a_named_file_is_checked_whatever_its_name() {
    let folder = Folder::new(&[("notes.txt", DATE), (".gitignore", "old.plan.kdl\n"), ("old.plan.kdl", DATE)]);
    assert_eq!(folder.run(&["check", "notes.txt"]).code, Some(1));
    assert_eq!(folder.run(&["check", "old.plan.kdl"]).code, Some(1));
    // The root file alone is left to look at.
    let ran = folder.run(&["check"]);
    assert!(ran.code == Some(0) && ran.out.contains("in 1 file; left out: 1 ignored"), "{ran:?}");
    assert!(ran.out.contains("left out: old.plan.kdl (ignored)"), "{ran:?}");
}

/// Every way a file can be left out of a check is counted and named.
#[test]
fn what_is_left_out_is_counted_and_named() {
    let folder = Folder::new(&[
        (".gitignore", "drafts/\n"),
        ("drafts/deep/a.plan.kdl", DATE),
        (".hidden/b.plan.kdl", DATE),
        (".c.plan.kdl", DATE),
        ("d.Plan.kdl", DATE),
        ("old/e.plan.kdl", DATE),
        ("leadsman.kdl", "exclude \"old\"\n"),
        ("good.plan.kdl", GOOD),
    ]);
    let ran = folder.run(&["check", "--format=json"]);
    let page: serde_json::Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"));
    let left: Vec<String> = page["left_out"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| format!("{} {}", one["path"].as_str().unwrap(), one["why"].as_str().unwrap()))
        .collect();
    assert_eq!(
        left,
        [
            ".c.plan.kdl hidden",
            ".hidden/b.plan.kdl hidden",
            "d.Plan.kdl other-case",
            "drafts/deep/a.plan.kdl ignored",
            "old/e.plan.kdl excluded",
        ]
    );
    assert_eq!(page["summary"]["files_left_out"], 5);
    let ran = folder.run(&["check", "--format=line"]);
    assert!(ran.out.contains("left out: 1 ignored, 2 hidden, 1 named in another letter case, 1 excluded"), "{ran:?}");
    for name in [".c.plan.kdl", ".hidden/b.plan.kdl", "d.Plan.kdl", "drafts/deep/a.plan.kdl", "old/e.plan.kdl"] {
        assert!(ran.out.contains(&format!("left out: {name} (")), "{name}: {ran:?}");
    }
}

/// A dive that could not be run is never passed over in silence, and what lacks for it can be listed.
#[test]
fn what_was_not_simulated_is_said() {
    let plan = "diver \"Rowan\"\nplan \"x\" on=\"2027-05-15\" { dive \"one\" { descend 9; stay 5; ascend; diver \"Rowan\" } }\n";
    let folder = Folder::new(&[("a.plan.kdl", plan)]);
    let ran = folder.run(&["check", "--lacking", "--format=line"]);
    assert!(ran.out.contains("; 0 of 1 dive simulated, "), "{ran:?}");
    assert!(ran.out.contains("a.plan.kdl:") && ran.out.contains(": lacking: "), "{ran:?}");
    assert!(!folder.run(&["check", "--format=line"]).out.contains(": lacking: "));
}

#[test]
fn files_are_named_from_where_the_reader_stands() {
    let folder = Folder::new(&[("club/leadsman.kdl", ""), ("club/plans/date.plan.kdl", DATE)]);
    let lines = |from: &str, path: &str| {
        let output = leadsman(folder.path(from)).args(["check", "--format=line", path]).output().unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    assert!(lines(".", "club").starts_with("club/plans/date.plan.kdl:1:"), "{}", lines(".", "club"));
    assert!(lines("club/plans", ".").starts_with("date.plan.kdl:1:"));
    assert!(lines("club/plans", "..").starts_with("date.plan.kdl:1:"));
    folder.write("club/kit/a.kit.kdl", "");
    assert!(lines("club/kit", "../plans/date.plan.kdl").starts_with("../plans/date.plan.kdl:1:"));
}

#[test]
fn one_call_may_touch_several_archives() {
    let (one, other) = (Folder::new(&[("a.plan.kdl", DATE)]), Folder::new(&[("b.plan.kdl", DATE)]));
    let path = other.path("b.plan.kdl");
    let ran = one.run(&["check", "--format=line", ".", path.to_str().unwrap()]);
    assert!(ran.out.contains("a.plan.kdl:1:") && ran.out.contains("b.plan.kdl:1:"), "{ran:?}");
    assert!(ran.out.contains("2 findings (2 errors) in 3 files"), "{ran:?}");
}

#[test]
fn a_file_named_twice_is_checked_once() {
    let folder = Folder::new(&[("a.plan.kdl", DATE), ("sub/leadsman.kdl", ""), ("sub/b.plan.kdl", DATE)]);
    let ran = folder.run(&["check", "--format=line", ".", "a.plan.kdl", "./a.plan.kdl", "sub/b.plan.kdl"]);
    assert_eq!(ran.out.matches("a.plan.kdl:").count(), 1, "{ran:?}");
    assert_eq!(ran.out.matches("b.plan.kdl:").count(), 1, "{ran:?}");
}

#[test]
fn standard_input_goes_by_the_name_it_is_given() {
    let folder = Folder::new(&[("good.plan.kdl", GOOD)]);
    for name in ["good.plan.kdl", "new.plan.kdl"] {
        let ran = folder.run_with(&["check", "--stdin", "--path", name, "--format=line"], DATE.as_bytes());
        assert_eq!(ran.code, Some(1), "{ran:?}");
        assert!(ran.out.starts_with(&format!("{name}:1:")), "{ran:?}");
        is_honest(&ran);
    }
    assert_eq!(folder.run_with(&["check", "--stdin", "--path", "good.plan.kdl"], GOOD.as_bytes()).code, Some(0));
    assert_eq!(folder.run_with(&["check", "--stdin"], b"").code, Some(2));
    assert_eq!(folder.run_with(&["check", "--stdin", "--path", "a.plan.kdl", "good.plan.kdl"], b"").code, Some(2));
}

#[test]
fn standard_input_sees_the_files_around_its_name() {
    let plan = format!("{GOOD}use \"kit.kit.kdl\"\n");
    let folder = Folder::new(&[("kit.kit.kdl", "")]);
    let ran = folder.run_with(&["check", "--stdin", "--path", "new.plan.kdl", "--format=line"], plan.as_bytes());
    assert!(!ran.out.contains("use-outside"), "{ran:?}");
    let plan = plan.replace("kit.kit", "gone.kit");
    let ran = folder.run_with(&["check", "--stdin", "--path", "new.plan.kdl", "--format=line"], plan.as_bytes());
    assert!(ran.out.contains("use-outside"), "{ran:?}");
}

#[test]
fn a_reader_that_has_read_enough_is_no_fault() {
    let many: String = (0..3_000).map(|number| format!("nonsense-{number} 1\n")).collect();
    let folder = Folder::new(&[("many.plan.kdl", &many)]);
    for format in ["screen", "line", "json"] {
        let mut command = leadsman(folder.root());
        command.args(["check", "--format", format]).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut first = [0; 16];
        child.stdout.take().unwrap().read_exact(&mut first).unwrap();
        let ended = child.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&ended.stderr).into_owned();
        assert!(ended.status.code() == Some(1) && said.is_empty(), "{format}: {:?} {said}", ended.status);
    }
}

#[test]
fn help_and_version_are_there() {
    let folder = Folder::new(&[]);
    let ran = folder.run(&["--version"]);
    assert_eq!((ran.code, &*ran.out), (Some(0), &*format!("leadsman {}\n", env!("CARGO_PKG_VERSION"))));
    for args in [&["--help"][..], &["check", "--help"], &["lsp", "--help"]] {
        let ran = folder.run(args);
        assert!(ran.code == Some(0) && ran.joined().contains(leadsman::CAUTION), "{ran:?}");
    }
    assert_eq!(folder.run(&[]).code, Some(2));
    assert_eq!(folder.run(&["sail"]).code, Some(2));
}

#[test]
fn a_server_whose_client_is_gone_ends() {
    let folder = Folder::new(&[]);
    for args in [&["lsp"][..], &["lsp", "--stdio"]] {
        let ran = folder.run_with(args, b"");
        assert!(ran.code == Some(1) && ran.out.is_empty(), "{ran:?}");
    }
}

#[test]
fn what_the_house_leaves_out_is_left_out_even_when_named() {
    let folder = Folder::new(&[
        ("a.plan.kdl", DATE),
        ("old/b.plan.kdl", DATE),
        ("old/deep/c.plan.kdl", DATE),
        ("older.plan.kdl", DATE),
    ]);
    let files = |args: &[&str]| {
        let ran = folder.run(&[&["check", "--format=line"], args].concat());
        let lines = ran.out.lines().filter(|line| !line.starts_with("leadsman:"));
        let files = lines.map(|line| line.split(':').next().unwrap().to_owned()).collect::<Vec<_>>();
        (ran.code, files, ran.err)
    };
    assert_eq!(files(&[]).1, ["a.plan.kdl", "old/b.plan.kdl", "old/deep/c.plan.kdl", "older.plan.kdl"]);
    folder.write("leadsman.kdl", "exclude \"old/\"\n");
    assert_eq!(files(&[]).1, ["a.plan.kdl", "older.plan.kdl"]);
    assert_eq!(files(&["old/b.plan.kdl", "a.plan.kdl"]).1, ["a.plan.kdl"]);
    let (code, none, err) = files(&["old/b.plan.kdl", "old"]);
    assert!(code == Some(0) && none.is_empty() && err.contains("old/b.plan.kdl: left out of checks"), "{err}");
    assert!(err.contains(leadsman::CAUTION), "{err}");
    folder.write("leadsman.kdl", "exclude \"../x\"\nexclude \"older.plan.kdl\"\n");
    assert_eq!(files(&[]).1, ["a.plan.kdl", "old/b.plan.kdl", "old/deep/c.plan.kdl"]);
}
