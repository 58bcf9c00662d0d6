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

/// Two archives of one repository, neither at its top: each change is seen where it is, and never where it is not.
#[test]
fn a_root_below_the_top_sees_its_own_changes() {
    let folder = club();
    for (file, text) in [("sub/leadsman.kdl", ""), ("sub/a.plan.kdl", GOOD), ("a.plan.kdl", DATE)] {
        folder.write(file, text);
    }
    commit(&folder);
    let below = |args: &[&str]| {
        let mut all = vec!["check", "--format=json", "--changed-since", "HEAD"];
        all.extend(args);
        looked_at(&folder.run(&all))
    };
    assert!(below(&["sub"]).is_empty());
    // The one at the top has the same relative path, and reads as it did.
    folder.write("sub/a.plan.kdl", DATE);
    assert_eq!(below(&["sub"]), ["sub/a.plan.kdl"]);
    assert_eq!(folder.run(&["check", "--changed-since", "HEAD", "sub"]).code, Some(1));
}

#[test]
fn what_is_staged_is_checked_and_not_what_lies_there() {
    let folder = Folder::new(&[]);
    git(&folder, &["init", "-q"]);
    folder.write("a.plan.kdl", DATE);
    git(&folder, &["add", "-A"]);
    // Mended in the folder, flawed in what will be committed: nothing was committed yet.
    folder.write("a.plan.kdl", GOOD);
    folder.write("untracked.plan.kdl", DATE);
    let hook = ["check", "--changed-since", "HEAD", "--staged"];
    let ran = folder.run(&hook);
    assert!(ran.code == Some(1) && ran.out.contains("a.plan.kdl") && !ran.out.contains("untracked"), "{ran:?}");
    git(&folder, &["add", "a.plan.kdl"]);
    assert_eq!(folder.run(&hook).code, Some(0));
    commit(&folder);
    assert!(looked_at(&folder.run(&["check", "--changed-since", "HEAD", "--staged", "--format=json"])).is_empty());
}

/// A commit that changes kit or house alone is held to the plans that rest on them.
#[test]
fn a_staged_change_of_kit_reaches_the_plans() {
    let folder = club();
    folder.write("a.kit.kdl", "diver \"Rowan\" { fit until=\"2030-01-01\" }\n");
    git(&folder, &["add", "-A"]);
    let ran = folder.run(&["check", "--changed-since", "HEAD", "--staged", "--format=json"]);
    assert_eq!(looked_at(&ran), ["a.kit.kdl", "plans/1.plan.kdl", "plans/2.plan.kdl"]);
}

#[test]
fn tracked_files_are_checked_whatever_ignores_them() {
    let folder = Folder::new(&[(".gitignore", "old.plan.kdl\n"), ("old.plan.kdl", DATE), (".x/b.plan.kdl", DATE)]);
    git(&folder, &["init", "-q"]);
    git(&folder, &["add", "-f", "old.plan.kdl", ".x/b.plan.kdl"]);
    let looked = looked_at(&folder.run(&["check", "--format=json"]));
    assert_eq!(looked, [".x/b.plan.kdl", "leadsman.kdl", "old.plan.kdl"]);
}

/// An ignore list above the repository says nothing about it.
#[test]
fn lists_above_the_repository_are_no_matter() {
    let folder = Folder::new(&[]);
    folder.write(".gitignore", "*.plan.kdl\n");
    folder.write("club/a.plan.kdl", GOOD);
    let club = folder.path("club");
    let done = Command::new("git").arg("-C").arg(&club).args(["init", "-q"]).output();
    assert!(done.expect("this test needs git on the PATH").status.success());
    std::fs::write(club.join("leadsman.kdl"), "").unwrap();
    let looked = looked_at(&folder.run(&["check", "--format=json", "club"]));
    assert_eq!(looked, ["club/a.plan.kdl", "club/leadsman.kdl"]);
}

/// A check-out that writes other line ends changes nothing.
#[test]
fn line_ends_of_a_check_out_are_no_change() {
    let folder = club();
    folder.write("plans/1.plan.kdl", plan("2027-05-10", "a").replace('\n', "\r\n"));
    assert!(since(&folder, "HEAD").is_empty());
}

/// What surrounds the process names no other repository than the one that is checked.
#[test]
fn another_repository_in_the_surroundings_misleads_nobody() {
    let (folder, other) = (club(), club());
    folder.write("plans/1.plan.kdl", DATE);
    let mut command = super::leadsman(folder.root());
    command.args(["check", "--format=json", "--changed-since", "HEAD"]);
    command.env("GIT_DIR", other.path(".git")).env("GIT_WORK_TREE", other.root());
    let ran = Ran::of(command.output().unwrap());
    assert!(looked_at(&ran).contains(&"plans/1.plan.kdl".to_owned()), "{ran:?}");
}

/// A tracked link to what never ends, or leads out, neither hangs nor is opened.
#[cfg(unix)]
#[test]
fn links_to_nowhere_good_are_not_followed() {
    let folder = club();
    let link = |to: &str, name: &str| std::os::unix::fs::symlink(to, folder.path(name)).unwrap();
    link("/dev/zero", "zero.plan.kdl");
    link("/etc/passwd", "out.plan.kdl");
    assert!(Command::new("mkfifo").arg(folder.path("pipe.plan.kdl")).status().unwrap().success());
    git(&folder, &["add", "zero.plan.kdl", "out.plan.kdl"]);
    git(&folder, &["commit", "-qm", "links"]);
    let ran = folder.run(&["check", "--changed-since", "HEAD", "--format=line"]);
    assert!(!ran.out.contains("root:"), "{ran:?}");
    let ran = folder.run(&["check", "--changed-since", "HEAD", "--staged", "--format=line"]);
    assert!(ran.code == Some(0) && !ran.out.contains("root:"), "{ran:?}");
}

/// Git writes some names in quotes unless it is asked not to.
#[cfg(unix)]
#[test]
fn a_folder_may_be_called_anything() {
    let folder = club();
    let odd = "\"od\td\u{e9}/a.plan.kdl";
    folder.write(odd, plan("2027-08-01", "a").replace("use \"", "use \"../"));
    commit(&folder);
    assert_eq!(since(&folder, "HEAD"), [""; 0]);
    folder.write(odd, plan("2027-08-02", "a").replace("use \"", "use \"../"));
    assert_eq!(since(&folder, "HEAD").len(), 1);
}
