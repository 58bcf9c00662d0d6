//! What a change touches, by git's word.

use std::process::Command;

use super::{DATE, Folder, GOOD, Ran};

/// Whatever the machine has set, a commit here is made by somebody invented, unsigned and past no hook.
const SETTINGS: [&str; 8] = [
    "-c",
    "user.name=Rowan",
    "-c",
    "user.email=rowan@example.org",
    "-c",
    "commit.gpgsign=false",
    "-c",
    "core.hooksPath=/dev/null",
];

fn git(folder: &Folder, args: &[&str]) {
    let mut command = Command::new("git");
    command.arg("-C").arg(folder.root()).args(SETTINGS);
    let done = command.args(args).output();
    let done =
        done.unwrap_or_else(|error| panic!("this test needs git on the PATH, and `git {}`: {error}", args.join(" ")));
    assert!(done.status.success(), "{args:?}: {}", String::from_utf8_lossy(&done.stderr));
}

fn commit(folder: &Folder) {
    git(folder, &["add", "-A"]);
    git(folder, &["commit", "-qm", "x"]);
}

/// The files that a run looked at.
fn looked_at(ran: &Ran) -> Vec<String> {
    let said: serde_json::Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"));
    let files = said["files"].as_array().unwrap();
    files.iter().map(|file| file["path"].as_str().unwrap().to_owned()).collect()
}

fn since(folder: &Folder, revision: &str) -> Vec<String> {
    looked_at(&folder.run(&["check", "--format=json", "--changed-since", revision]))
}

fn plan(day: &str, kit: &str) -> String {
    format!(
        "use \"../{kit}.kit.kdl\"\nplan \"{day}\" on=\"{day}\" status=ready {{ dive \"one\" at=\"09:00\" {{ descend 9; diver \"Rowan\" }} }}\n"
    )
}

fn club() -> Folder {
    let folder =
        Folder::new(&[("a.kit.kdl", "diver \"Rowan\"\n"), ("b.kit.kdl", "diver \"Rowan\"\n"), ("notes.txt", "x")]);
    for (name, day, kit) in [("1", "2027-05-10", "a"), ("2", "2027-05-11", "b"), ("3", "2027-06-10", "b")] {
        folder.write(&format!("plans/{name}.plan.kdl"), plan(day, kit));
    }
    git(&folder, &["init", "-q"]);
    commit(&folder);
    folder
}

#[test]
fn a_change_touches_what_rests_on_it() {
    let folder = club();
    assert!(since(&folder, "HEAD").is_empty());
    // Who uses the kit, and the plan of the day after; in the work tree, in the index and committed alike.
    folder.write("a.kit.kdl", "diver \"Rowan\" { fit until=\"2030-01-01\" }\n");
    let touched = ["a.kit.kdl", "plans/1.plan.kdl", "plans/2.plan.kdl"];
    assert_eq!(since(&folder, "HEAD"), touched);
    git(&folder, &["add", "-A"]);
    assert_eq!(since(&folder, "HEAD"), touched);
    commit(&folder);
    assert_eq!(since(&folder, "HEAD~1"), touched);
    assert!(since(&folder, "HEAD").is_empty());
    // Paths choose among them.
    let ran = folder.run(&["check", "--format=json", "--changed-since", "HEAD~1", "plans"]);
    assert_eq!(looked_at(&ran), touched[1..]);
    // What is new, and what is untracked still.
    folder.write("new.plan.kdl", GOOD);
    assert_eq!(since(&folder, "HEAD"), ["new.plan.kdl"]);
    assert_eq!(folder.run(&["check", "--changed-since", "HEAD"]).code, Some(0));
    folder.write("new.plan.kdl", DATE);
    assert_eq!(folder.run(&["check", "--changed-since", "HEAD"]).code, Some(1));
}

#[test]
fn what_was_there_before_counts_too() {
    let folder = club();
    // A plan that moves away from a day leaves nothing there any more.
    folder.write("plans/1.plan.kdl", plan("2027-08-10", "a"));
    assert_eq!(since(&folder, "HEAD"), ["plans/1.plan.kdl", "plans/2.plan.kdl"]);
    commit(&folder);
    std::fs::remove_file(folder.path("b.kit.kdl")).unwrap();
    assert_eq!(since(&folder, "HEAD"), ["plans/2.plan.kdl", "plans/3.plan.kdl"]);
    // A file that no longer uses another one is touched by itself alone.
    git(&folder, &["checkout", "-q", "."]);
    folder.write("plans/3.plan.kdl", GOOD);
    assert_eq!(since(&folder, "HEAD"), ["plans/3.plan.kdl"]);
    folder.write("leadsman.kdl", "limits { depth 30 }\n");
    assert_eq!(since(&folder, "HEAD").len(), 6);
}

#[test]
fn what_git_can_t_tell_is_said() {
    let folder = club();
    for (revision, why) in [("nowhere", "nowhere"), ("--output=x", "is no revision"), ("", "is no revision")] {
        let ran = folder.run(&["check", &format!("--changed-since={revision}")]);
        assert!(ran.code == Some(2) && ran.err.contains(why) && ran.out.is_empty(), "{ran:?}");
    }
    let none = Folder::new(&[("a.plan.kdl", GOOD)]);
    let ran = none.run(&["check", "--changed-since=HEAD"]);
    assert!(ran.code == Some(2) && ran.err.contains("git: "), "{ran:?}");
}
