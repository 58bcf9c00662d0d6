//! The invented quarry club's archive, as its members see it.

use std::path::{Path, PathBuf};

use super::{Ran, is_honest, leadsman};

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")
}

fn check(args: &[&str]) -> Ran {
    Ran::of(leadsman(examples()).arg("check").args(args).output().unwrap())
}

#[test]
fn good_plans_raise_nothing_above_a_note() {
    for folder in ["plans", "templates", "kit", "crew.kit.kdl", "leadsman.kdl"] {
        let ran = check(&["--fail-on=warning", folder]);
        assert_eq!(ran.code, Some(0), "{ran:?}");
        is_honest(&ran);
    }
}

#[test]
fn flawed_plans_show_what_is_wrong_with_them() {
    let mut plans: Vec<String> = std::fs::read_dir(examples().join("flawed"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    plans.sort();
    assert!(!plans.is_empty());
    for plan in plans {
        let ran = check(&[&format!("flawed/{plan}")]);
        assert_eq!(ran.code, Some(1), "{ran:?}");
        assert!(ran.err.is_empty(), "{ran:?}");
        is_honest(&ran);
        insta::assert_snapshot!(plan.trim_end_matches(".plan.kdl"), ran.out);
    }
}

/// What the README shows is what the command prints, but for what it leaves out at each `…`.
#[test]
fn the_readme_shows_what_is_printed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let (_, shown) = readme.split_once("```text\n").unwrap();
    let (shown, _) = shown.split_once("```").unwrap();
    let ran = leadsman(root).args(["check", "examples/flawed/wrong-cylinders.plan.kdl"]).output().unwrap();
    let printed = String::from_utf8(ran.stdout).unwrap();
    let mut rest = &printed[..];
    for part in shown.split("\n…\n") {
        let part = part.trim_matches('\n');
        let at =
            rest.find(part).unwrap_or_else(|| panic!("is not printed, or not there:\n{part}\n\nprinted:\n{printed}"));
        rest = &rest[at + part.len()..];
    }
    let plan = std::fs::read_to_string(root.join("examples/flawed/wrong-cylinders.plan.kdl")).unwrap();
    let (_, shown) = readme.split_once("```kdl\n").unwrap();
    let (shown, _) = shown.split_once("```").unwrap();
    assert!(plan.contains(shown), "the README's plan is another:\n{plan}");
}

/// The README's table of stops is what is printed, and its plan of ten lines is one without an error.
#[test]
fn the_readme_s_other_examples_are_so() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let fences = |kind: &str| -> Vec<&str> {
        readme.split(&format!("```{kind}\n")).skip(1).map(|rest| rest.split("```").next().unwrap()).collect()
    };
    let args = ["stops", "examples/plans/saturday.plan.kdl", "--dive", "morning", "--diver", "Rowan"];
    let printed = String::from_utf8(leadsman(root).args(args).output().unwrap().stdout).unwrap();
    assert!(printed.starts_with(fences("text")[1]), "{printed}");
    let folder = super::Folder::new(&[("plans/ten.plan.kdl", fences("kdl")[1])]);
    for kit in ["crew.kit.kdl", "kit/cylinders.kit.kdl", "leadsman.kdl"] {
        folder.write(kit, std::fs::read(root.join("examples").join(kit)).unwrap());
    }
    let ran = folder.run(&["check", "--format", "line", "plans"]);
    assert!(
        ran.code == Some(0) && !ran.out.contains(" error ") && ran.out.contains("1 of 1 dive simulated"),
        "{ran:?}"
    );
}
