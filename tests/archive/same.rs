//! The same question has the same answer: for any number of threads, and by whatever way an archive came to be as it is.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use leadsman::archive::{Archive, Change, Memory};
use leadsman::source::{FileId, Text};
use proptest::prelude::*;

use super::{archive, id};

/// Everything an archive answers, as text.
fn told(archive: &Archive) -> String {
    let files = archive.walk(&[]);
    let mut told = format!("{:#?}\n", archive.check(&files, &|| ()).files);
    for file in &files {
        told += &format!("{file}: {:#?}\n", archive.plan(file));
        told += &format!("sees {:?}\n", archive.in_sight(file));
        told += &format!("means {:#?}\n", archive.scope(file));
        told += &format!("means it to {:?}\n", archive.dependants(file));
    }
    told
}

fn club(plans: usize) -> Archive {
    let mut host = Memory::new()
        .file("/club/leadsman.kdl", "use \"kit/crew.kit.kdl\"\nlimits { depth 36 }\nlevel \"depth-exceeded\" warning")
        .file("/club/kit/crew.kit.kdl", "diver \"Rowan\"\ndiver \"Ines\"\nuse \"crew.kit.kdl\"")
        .file("/club/kit/cylinders.kit.kdl", "cylinder \"S12-04\" size=12\ncylinder \"S12-04\" size=(cuft)80");
    for n in 0..plans {
        let plan = format!(
            "use \"../kit/cylinders.kit.kdl\"\nplan \"{n}\" on=\"2027-05-{:02}\" status=ready {{\n dive \"one\" {{ descend {}\n \
             ascend\n diver \"Rowan\" back=\"S12-0{}\"\n diver \"Ada\"\n}}\n}}",
            n % 31 + 1,
            n % 50,
            n % 6
        );
        host = host.file(format!("/club/plans/{n:03}.plan.kdl"), plan);
    }
    Archive::open(Arc::new(host), "/club".as_ref())
}

#[test]
fn one_thread_and_many_say_the_same() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| told(&club(60)))
    };
    let one = on(1);
    assert!(one.contains("unresolved-name"), "there is something to say");
    for threads in [2, 5, 16] {
        assert!(on(threads) == one, "{threads} threads say something else");
    }
}

#[test]
fn a_file_alone_says_what_it_says_among_all() {
    let archive = club(20);
    let all = archive.check(&archive.walk(&[]), &|| ());
    for (file, findings) in &all.files {
        let alone = club(20);
        assert_eq!(&alone.findings(file), findings, "{file}");
    }
    let paths: Vec<_> = all.files.iter().map(|(file, _)| file.clone()).collect();
    assert!(paths.is_sorted());
    // The order and number of times that files are asked for changes nothing.
    let mut again = archive.walk(&[]);
    again.reverse();
    again.push(again[0].clone());
    let seen = AtomicUsize::new(0);
    let report = archive.check(&again, &|| {
        seen.fetch_add(1, Ordering::Relaxed);
    });
    assert_eq!(report.files, all.files);
    assert_eq!(seen.into_inner(), all.files.len());
}

#[test]
fn what_a_change_does_not_touch_is_kept() {
    let archive = club(3);
    let (one, other) = (id("plans/000.plan.kdl"), id("plans/001.plan.kdl"));
    let (plan, scope) = (archive.plan(&other).unwrap(), archive.scope(&other));
    let changed = archive.with(&[Change::Open(one.clone(), Text::new("plan \"changed\""))]);
    assert_eq!(changed.plan(&one).unwrap().name.value, "changed");
    assert_eq!(archive.plan(&one).unwrap().name.value, "0", "the old value is as it was");
    assert!(Arc::ptr_eq(&changed.plan(&other).unwrap(), &plan));
    assert!(Arc::ptr_eq(&changed.scope(&other), &scope));
    // Text that reads the same is no change, and a closed file reads as the disk does.
    let crew = id("kit/crew.kit.kdl");
    let same =
        archive.with(&[Change::Open(crew.clone(), archive.text(&crew).unwrap()), Change::Touched(other.clone())]);
    assert!(Arc::ptr_eq(&same.plan(&other).unwrap(), &plan));
    let closed = changed.with(&[Change::Touched(one.clone()), Change::Closed(one.clone())]);
    assert_eq!(closed.plan(&one).unwrap().name.value, "0");
    // A file that others use, changed, is changed for them.
    let renamed = archive.with(&[Change::Open(crew, Text::new("diver \"Ada\""))]);
    assert_eq!(renamed.scope(&other).divers.keys().collect::<Vec<_>>(), ["Ada"]);
}

#[test]
fn a_file_that_comes_to_be_is_found_by_those_that_miss_it() {
    let archive = archive(&[("x.plan.kdl", "use \"crew.kit.kdl\"\nplan \"x\" { dive \"one\" { diver \"Rowan\" } }")]);
    let plan = id("x.plan.kdl");
    let count = |archive: &Archive, rule: &str| archive.findings(&plan).iter().filter(|f| f.rule == rule).count();
    assert_eq!((count(&archive, "use-outside"), count(&archive, "unresolved-name")), (1, 1));
    let crew = Change::Open(id("crew.kit.kdl"), Text::new("diver \"Rowan\""));
    let found = archive.with(&[crew]);
    assert_eq!((count(&found, "use-outside"), count(&found, "unresolved-name")), (0, 0));
    let lost = found.with(&[Change::Closed(id("crew.kit.kdl"))]);
    assert_eq!(count(&lost, "use-outside"), 1);
    // So is a root file that comes to be above it.
    let house = Change::Open(id("leadsman.kdl"), Text::new("diver \"Rowan\""));
    assert_eq!(count(&archive.with(&[house]), "unresolved-name"), 0);
}

/// Files of the scripts below, and what may be written in them.
const FILES: &[&str] = &["leadsman.kdl", "a.kit.kdl", "sub/b.kit.kdl", "t.plan.kdl", "sub/x.plan.kdl"];
const LINES: &[&str] = &[
    "use \"a.kit.kdl\"",
    "use \"../a.kit.kdl\"",
    "use \"sub/b.kit.kdl\"",
    "use \"b.kit.kdl\"",
    "use \"../../a.kit.kdl\"",
    "measures imperial",
    "cylinder \"S\" size=12 working=232 { fill 200 on=\"2027-05-14\" o2=32 }",
    "record \"S\" { fill 90 on=\"2027-05-15\" o2=30 }",
    "diver \"Rowan\" { gas rest=16 peak=60; oxygen light=1.0 peak=3.0 }",
    "limits { depth 30; reserve 50 }",
    "plan \"x\" on=\"2027-05-15\" status=ready { dive \"one\" { descend 33; stay 10; ascend; diver \"Rowan\" back=\"S\" } }",
    "plan \"t\" status=template { limits { depth 20 }; dive \"one\" { descend 12; ascend } }",
    "plan \"y\" on=\"2027-05-15\" from=\"../t.plan.kdl\" { limits { depth 50 } }",
    "plan \"z\" from=\"sub/x.plan.kdl\"",
    "plan \"half",
    "} \u{0} é {",
];

fn text() -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(LINES), 0..4).prop_map(|lines| lines.join("\n"))
}

proptest! {
    #![proptest_config(crate::seed::properties(48))]

    #[test]
    fn any_script_of_changes_ends_where_a_fresh_archive_begins(
        disk in prop::collection::vec((prop::sample::select(FILES), text()), 0..6),
        script in prop::collection::vec((prop::sample::select(FILES), prop::option::of(text()), any::<bool>()), 0..12),
    ) {
        let mut host = Memory::new();
        for (file, text) in &disk {
            host = host.file(format!("/club/{file}"), text);
        }
        let start = Archive::open(Arc::new(host.clone()), "/club".as_ref());
        let mut edited = start;
        let mut open: std::collections::BTreeMap<&str, String> = std::collections::BTreeMap::new();
        for (file, text, ask) in script {
            let change = match text {
                Some(text) => {
                    open.insert(file, text.clone());
                    Change::Open(id(file), Text::new(text))
                }
                None => {
                    open.remove(file);
                    Change::Closed(id(file))
                }
            };
            edited = edited.with(&[change]);
            if ask {
                // What was asked for in between is remembered, and must not be remembered wrong.
                let all: Vec<FileId> = edited.walk(&[]);
                edited.check(&all, &|| ());
                edited.dependants(&id(file));
            }
        }
        let changes: Vec<_> = open.iter().map(|(file, text)| Change::Open(id(file), Text::new(text))).collect();
        let fresh = Archive::open(Arc::new(host), "/club".as_ref()).with(&changes);
        prop_assert_eq!(told(&edited), told(&fresh));
    }
}

#[test]
fn a_file_that_changes_on_disk_is_read_again_once_touched() {
    let disk = tempfile::tempdir().unwrap();
    let write = |file: &str, text: &str| std::fs::write(disk.path().join(file), text).unwrap();
    write("crew.kit.kdl", "diver \"Rowan\"");
    write("x.plan.kdl", "use \"crew.kit.kdl\"\nuse \"more.kit.kdl\"\nplan \"x\"");
    let archive = Archive::open(Arc::new(leadsman::archive::Disk), disk.path());
    let divers = |archive: &Archive| archive.scope(&id("x.plan.kdl")).divers.keys().cloned().collect::<Vec<_>>();
    assert_eq!(divers(&archive), ["Rowan"]);
    assert_eq!(archive.walk(&[]).len(), 2);
    write("crew.kit.kdl", "diver \"Ines\"");
    write("more.kit.kdl", "diver \"Ada\"");
    assert_eq!(divers(&archive), ["Rowan"], "an archive is a value");
    let touched = archive.with(&[Change::Touched(id("crew.kit.kdl")), Change::Touched(id("more.kit.kdl"))]);
    assert_eq!(divers(&touched), ["Ada", "Ines"]);
    assert_eq!(touched.walk(&[]).len(), 3);
    // An open file is the editor's, whatever happens on disk.
    let open = touched.with(&[Change::Open(id("crew.kit.kdl"), Text::new("diver \"Maren\""))]);
    write("crew.kit.kdl", "diver \"Nobody\"");
    assert_eq!(divers(&open.with(&[Change::Touched(id("crew.kit.kdl"))])), ["Ada", "Maren"]);
    std::fs::remove_file(disk.path().join("more.kit.kdl")).unwrap();
    let gone = open.with(&[Change::Touched(id("more.kit.kdl")), Change::Closed(id("crew.kit.kdl"))]);
    assert_eq!(divers(&gone), ["Nobody"]);
    assert_eq!(gone.walk(&[]).len(), 2);
}
