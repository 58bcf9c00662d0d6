//! What earlier runs found: no run says anything else because of it, nor because of threads, order or company.

use std::collections::BTreeMap;
use std::path::Path;

use serde_json::Value;

use super::{Folder, Ran, leadsman};
use crate::club::Club;

/// A made club of some weeks, flaws among its plans, its last days still to be dived.
fn club() -> Folder {
    let folder = Folder::new(&[]);
    write_club(&folder);
    folder
}

/// Writes all of it, as it is or as it was.
fn write_club(folder: &Folder) {
    let club = Club { plans: 36, seed: crate::seed::or(7), flawed_percent: 30, ready: 6 };
    club.files().iter().for_each(|(path, text)| folder.write(path, text));
}

fn check(folder: &Folder, cache: &Path, args: &[&str]) -> Ran {
    let mut command = leadsman(folder.root());
    Ran::of(command.env("XDG_CACHE_HOME", cache).args(["check", "--format", "json"]).args(args).output().unwrap())
}

/// The findings by file.
fn files(ran: &Ran) -> BTreeMap<String, Value> {
    let said: Value = serde_json::from_str(&ran.out).unwrap();
    let files = said["files"].as_array().unwrap();
    files.iter().map(|file| (file["path"].as_str().unwrap().to_owned(), file["findings"].clone())).collect()
}

/// The one file that a run has left in the cache's folder.
fn kept(cache: &Path) -> std::path::PathBuf {
    let all: Vec<_> = std::fs::read_dir(cache.join("leadsman")).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(all.len(), 1, "{all:?}");
    all[0].clone()
}

#[test]
fn from_nothing_from_the_cache_and_from_a_broken_one_it_is_the_same() {
    let (folder, home) = (club(), tempfile::tempdir().unwrap());
    let cold = check(&folder, home.path(), &[]);
    assert!(cold.code == Some(1) && files(&cold).values().any(|findings| !findings.as_array().unwrap().is_empty()));
    assert_eq!(check(&folder, home.path(), &[]).out, cold.out, "from the cache");
    assert_eq!(check(&folder, home.path(), &["--no-cache"]).out, cold.out);
    let path = kept(home.path());
    let whole = std::fs::read(&path).unwrap();
    for broken in [whole[..whole.len() / 2].to_vec(), vec![0xff; 4096], Vec::new(), [&whole[..], b"x"].concat()] {
        std::fs::write(&path, broken).unwrap();
        // What was left alone for seconds bears a stamp, as it did not at first.
        write_club(&folder);
        assert_eq!(check(&folder, home.path(), &[]).out, cold.out, "from a broken one");
        assert_eq!(std::fs::read(&path).unwrap(), whole, "and it is written anew");
    }
    // No folder to keep it in is no hindrance.
    let file = home.path().join("a file");
    std::fs::write(&file, "").unwrap();
    let without = check(&folder, &file, &[]);
    assert_eq!((without.out, without.err), (cold.out, cold.err));
}

#[test]
fn several_runs_at_once_leave_a_whole_one() {
    let (folder, home) = (club(), tempfile::tempdir().unwrap());
    let cold = check(&folder, home.path(), &["--no-cache"]);
    std::thread::scope(|scope| {
        let runs: Vec<_> = (0..4).map(|_| scope.spawn(|| check(&folder, home.path(), &[]))).collect();
        runs.into_iter().for_each(|run| assert_eq!(run.join().unwrap().out, cold.out));
    });
    let whole = std::fs::read(kept(home.path())).unwrap();
    assert_eq!(check(&folder, home.path(), &[]).out, cold.out);
    assert_eq!(std::fs::read(kept(home.path())).unwrap(), whole, "there was nothing to add");
}

#[test]
fn one_thread_and_many_say_the_same() {
    let (folder, home) = (club(), tempfile::tempdir().unwrap());
    let on = |threads: &str, format: &str| {
        let mut command = leadsman(folder.root());
        command.env("XDG_CACHE_HOME", home.path()).env("RAYON_NUM_THREADS", threads);
        Ran::of(command.args(["check", "--no-cache", "--format", format]).output().unwrap()).out
    };
    for format in ["json", "screen", "line"] {
        let one = on("1", format);
        assert!(on("2", format) == one && on("7", format) == one, "{format}");
    }
}

#[test]
fn a_file_says_the_same_alone_and_among_all() {
    let (folder, home) = (club(), tempfile::tempdir().unwrap());
    let all = files(&check(&folder, home.path(), &["--no-cache"]));
    for (number, (path, findings)) in all.iter().enumerate() {
        // Half of them from nothing, half from what earlier ones left.
        let args = [path.as_str(), "--no-cache"];
        let alone = files(&check(&folder, home.path(), &args[..1 + number % 2]));
        assert_eq!(alone, BTreeMap::from([(path.clone(), findings.clone())]));
    }
}

/// When its divers last dived is asked of plans months before a plan.
#[test]
fn a_plan_follows_what_its_divers_dived_long_before() {
    let (folder, home) = (club(), tempfile::tempdir().unwrap());
    let first = String::from_utf8(folder.read("plans/2017/2017-01-14-0.plan.kdl")).unwrap();
    let [dived, ready] = ["dived", "ready"].map(|status| {
        let begins = first.find(" status=").unwrap();
        let ends = begins + first[begins + 1..].find(' ').unwrap() + 1;
        format!("{} status={status}{}", &first[..begins], &first[ends..])
    });
    let on = |text: &str, day: &str| text.replacen("2017-01-14", day, 1);
    folder.write("leadsman.kdl", "limits { currency months=6; }\n");
    folder.write("plans/2017/late.plan.kdl", on(&ready, "2017-11-20"));
    check(&folder, home.path(), &[]);
    let told = |what: &str, lapsed: bool| {
        let (warm, cold) = (check(&folder, home.path(), &[]), check(&folder, home.path(), &["--no-cache"]));
        assert_eq!(warm.out, cold.out, "{what}");
        let late = files(&cold)["plans/2017/late.plan.kdl"].to_string();
        assert_eq!(late.contains("\"currency-lapsed\""), lapsed, "{what}: {late}");
    };
    told("last in winter", true);
    folder.write("plans/2017/summer.plan.kdl", on(&dived, "2017-07-01"));
    told("dived in summer", false);
    folder.write("plans/2017/summer.plan.kdl", on(&dived, "2017-07-01").replace("Rowan", "Noor"));
    told("another dived in summer", true);
    folder.write("plans/2017/summer.plan.kdl", on(&dived, "2017-07-01"));
    told("dived in summer again", false);
    std::fs::remove_file(folder.path("plans/2017/summer.plan.kdl")).unwrap();
    told("never dived in summer", true);
}

/// Whatever is edited, a run that goes by the cache says what one that doesn't says.
#[test]
fn after_any_edit_the_cache_says_nothing_old() {
    let (folder, home) = (club(), tempfile::tempdir().unwrap());
    check(&folder, home.path(), &[]);
    let plans = "plans/2017";
    let first = |start: &str| -> String {
        let mut names: Vec<String> = std::fs::read_dir(folder.path(plans))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .filter(|name| name.starts_with(start))
            .collect();
        names.sort();
        format!("{plans}/{}", names[0])
    };
    let edit = |path: &str, from: &str, to: &str| {
        let text = String::from_utf8(folder.read(path)).unwrap();
        assert!(text.contains(from), "{path} has {from:?}");
        folder.write(path, text.replacen(from, to, 1));
    };
    let last = first("2017-01-21");
    let steps: [&dyn Fn(); 9] = [
        &|| edit("crew.kit.kdl", "rest=14", "rest=19"),
        &|| edit("records/2017-01.kit.kdl", "fill 2", "fill 1"),
        &|| edit("kit/2017.kit.kdl", "floor o2=22", "floor o2=24"),
        &|| edit("leadsman.kdl", "depth 36", "depth 16"),
        &|| edit(&last, "stay ", "stay 3"),
        // It comes to lie before others, and then no longer.
        &|| edit(&last, "2017-01-21", "2017-01-20"),
        &|| std::fs::remove_file(folder.path(&last)).unwrap(),
        &|| {
            folder
                .write("plans/2017/new.plan.kdl", "plan \"new\" on=\"2017-01-22\" { dive \"x\" { diver \"Rowan\" } }\n")
        },
        &|| folder.write("spare.kit.kdl", "cylinder \"S12-90\" size=12\n"),
    ];
    for (number, step) in steps.iter().enumerate() {
        step();
        let (warm, cold) = (check(&folder, home.path(), &[]), check(&folder, home.path(), &["--no-cache"]));
        assert_eq!(files(&warm), files(&cold), "step {number}");
        assert_eq!(warm.out, cold.out, "step {number}");
    }
}

/// Whatever stands in the cache's place is looked at before it is opened.
#[cfg(unix)]
#[test]
fn a_pipe_in_the_cache_s_place_holds_up_nobody() {
    let (folder, cache) = (club(), tempfile::tempdir().unwrap());
    let right = files(&check(&folder, cache.path(), &[]));
    let place = kept(cache.path());
    std::fs::remove_file(&place).unwrap();
    assert!(std::process::Command::new("mkfifo").arg(&place).status().unwrap().success());
    let ran = check(&folder, cache.path(), &[]);
    assert_eq!((files(&ran), ran.err.as_str()), (right, ""));
}
