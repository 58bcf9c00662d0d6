//! Files are written whole or not at all, whatever happens meanwhile, and keep what they had.

use std::fs;
use std::os::unix::fs::symlink;
use std::process::{Command, Stdio};
use std::time::{Duration, SystemTime};

use crate::cli::{DATE, Folder, GOOD, leadsman};

const UNFINISHED: &str = ".leadsman-unfinished-";

/// A plan with one safe fix, long enough that writing it takes a while.
fn long() -> String {
    format!("{DATE}{}", "// a long comment about nothing in particular\n".repeat(20_000))
}

/// What the runs have left beside their places.
fn left(folder: &Folder) -> Vec<String> {
    let inside = |below: &str| {
        let entries = fs::read_dir(folder.path(below)).unwrap();
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect::<Vec<_>>()
    };
    let mut all: Vec<String> = inside(".").into_iter().chain(inside("sub")).collect();
    all.retain(|name| !name.ends_with(".kdl") && name != "sub" && name != "leadsman.accepted.json");
    all
}

fn folder() -> Folder {
    Folder::new(&[("a.plan.kdl", &long()), ("sub/b.plan.kdl", GOOD)])
}

#[test]
fn a_run_that_is_asked_to_end_leaves_nothing() {
    let folder = folder();
    let (old, mut ended) = (long(), 0);
    for round in 0..30 {
        folder.write("a.plan.kdl", &old);
        let mut command = leadsman(folder.root());
        command.args(["check", "--fix"]).stdout(Stdio::null()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        std::thread::sleep(Duration::from_millis(round));
        let signal = if round % 2 == 0 { "-TERM" } else { "-INT" };
        // It may be through already.
        let _ = Command::new("kill").args([signal, &child.id().to_string()]).stderr(Stdio::null()).status().unwrap();
        ended += u32::from(!child.wait().unwrap().success());
        let now = String::from_utf8(folder.read("a.plan.kdl")).unwrap();
        assert!(now == old || now == old.replacen("on=2027-05-15", "on=\"2027-05-15\"", 1), "whole, round {round}");
        assert_eq!(left(&folder), [""; 0], "round {round}");
    }
    assert!(ended > 0, "none was met while it ran");
}

#[test]
fn what_a_killed_run_has_left_is_taken_away() {
    let folder = folder();
    let old = long();
    for round in 0..30 {
        folder.write("a.plan.kdl", &old);
        let mut command = leadsman(folder.root());
        let mut child = command.args(["check", "--fix"]).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(round));
        child.kill().unwrap();
        child.wait().unwrap();
        let now = folder.read("a.plan.kdl").len();
        assert!(now == old.len() || now == old.len() + 2, "whole, round {round}");
    }
    // What was just made may be somebody's; what nobody holds is not.
    let made = |name: &str, age: u64| {
        folder.write(name, "half a pl");
        let file = fs::File::options().write(true).open(folder.path(name)).unwrap();
        file.set_modified(SystemTime::now() - Duration::from_secs(age)).unwrap();
        file
    };
    let held = made(&format!("sub/{UNFINISHED}held"), 100);
    held.lock().unwrap();
    drop(made(&format!("sub/{UNFINISHED}left"), 100));
    drop(made(&format!("{UNFINISHED}left"), 100));
    for name in left(&folder) {
        let file =
            [folder.path(&name), folder.path(&format!("sub/{name}"))].into_iter().find(|path| path.exists()).unwrap();
        let file = fs::File::options().write(true).open(file).unwrap();
        file.set_modified(SystemTime::now() - Duration::from_secs(100)).unwrap();
    }
    folder.run(&["check", "--fix", "."]);
    assert_eq!(left(&folder), [format!("{UNFINISHED}held")]);
}

#[test]
fn a_full_disk_leaves_what_was_there() {
    let folder = folder();
    let small = |args: &str| {
        let text = format!("trap '' XFSZ; ulimit -f 1; exec \"$0\" {args}");
        let mut command = Command::new("sh");
        let own = leadsman(folder.root());
        command.current_dir(folder.root()).arg("-c").arg(text).arg(own.get_program());
        command.envs(own.get_envs().filter_map(|(key, value)| Some((key, value?))));
        let ran = command.output().unwrap();
        (ran.status.code(), String::from_utf8(ran.stderr).unwrap())
    };
    let (code, said) = small("check --fix");
    assert!(code == Some(2) && said.contains("could not be written"), "{code:?} {said}");
    assert_eq!(folder.read("a.plan.kdl"), long().as_bytes());
    let many: String = (0..40).map(|number| format!("alow \"number {number}\"\n")).collect();
    folder.write("many.plan.kdl", &many);
    let (code, said) = small("check --accept");
    assert!(code == Some(2) && !folder.path("leadsman.accepted.json").exists(), "{code:?} {said}");
    folder.run(&["check", "--accept"]);
    let accepted = folder.read("leadsman.accepted.json");
    folder.write("more.plan.kdl", many.replace("number", "more"));
    let (code, said) = small("check --accept");
    assert!(code == Some(2) && folder.read("leadsman.accepted.json") == accepted, "{code:?} {said}");
    let name = "a long name ".repeat(100);
    let (code, said) = small(&format!("new sub/b.plan.kdl --on 2027-05-15 --out new.plan.kdl --name '{name}'"));
    assert!(code == Some(2) && !folder.path("new.plan.kdl").exists(), "{code:?} {said}");
    assert_eq!(left(&folder), [""; 0]);
}

#[test]
fn a_file_of_several_names_is_left_and_said() {
    let folder = Folder::new(&[("a.plan.kdl", DATE)]);
    fs::hard_link(folder.path("a.plan.kdl"), folder.path("other name")).unwrap();
    let ran = folder.run(&["check", "--fix"]);
    assert!(ran.code == Some(2) && ran.err.contains("hard links"), "{ran:?}");
    assert_eq!((folder.read("a.plan.kdl"), folder.read("other name")), (DATE.into(), DATE.into()));
}

#[test]
fn attributes_and_access_lists_are_kept() {
    let folder = Folder::new(&[("a.plan.kdl", DATE)]);
    let path = folder.path("a.plan.kdl");
    // Some file systems know none of them: then there is none to keep.
    let own = xattr::set(&path, "user.club", b"Greyfen");
    assert!(own.is_ok() || own.as_ref().is_err_and(|error| error.kind() == std::io::ErrorKind::Unsupported), "{own:?}");
    // An access list as Linux stores one: version 2, then tag, permissions and id each: owner, user 12345, group, mask, others.
    let entry = |tag: u16, may: u16, id: u32| [&tag.to_le_bytes()[..], &may.to_le_bytes(), &id.to_le_bytes()].concat();
    let all = [entry(1, 6, !0), entry(2, 4, 12345), entry(4, 4, !0), entry(16, 4, !0), entry(32, 0, !0)];
    let list = [&2u32.to_le_bytes()[..], &all.concat()].concat();
    let lists = cfg!(target_os = "linux") && xattr::set(&path, "system.posix_acl_access", &list).is_ok();
    let ran = folder.run(&["check", "--fix"]);
    assert!(ran.code == Some(0) && folder.read("a.plan.kdl") != DATE.as_bytes(), "{ran:?}");
    let club = xattr::get(&path, "user.club").unwrap_or_default();
    assert_eq!(club.as_deref(), own.is_ok().then_some(&b"Greyfen"[..]));
    let kept = xattr::get(&path, "system.posix_acl_access").unwrap_or_default();
    assert_eq!(kept, lists.then_some(list));
}

#[test]
fn nothing_new_is_written_through_a_link_out_of_the_root() {
    let (folder, outside) = (Folder::new(&[("b.plan.kdl", GOOD)]), Folder::new(&[]));
    symlink(outside.root(), folder.path("out")).unwrap();
    let ran = folder.run(&["new", "b.plan.kdl", "--on", "2027-05-15", "--out", "out/new.plan.kdl"]);
    assert!(ran.code == Some(2) && ran.err.contains("leads out of the archive"), "{ran:?}");
    assert!(!outside.path("new.plan.kdl").exists());
    let ran = folder.run(&["new", "b.plan.kdl", "--on", "2027-05-15", "--out", "new.plan.kdl"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    // As any other new file.
    let mode = |name: &str| fs::metadata(folder.path(name)).unwrap().permissions();
    assert_eq!(mode("new.plan.kdl"), mode("b.plan.kdl"));
}
