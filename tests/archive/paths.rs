//! An archive is confined to its root: nothing outside is ever read.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

use leadsman::archive::{Archive, Change, Disk, Host, HostError, MAX_BYTES, Memory};
use leadsman::source::Text;
use leadsman::words::LimitName;

use super::{archive, id, said};

/// A host that remembers what was read.
#[derive(Debug)]
struct Watched {
    memory: Memory,
    read: Mutex<Vec<PathBuf>>,
    walks: AtomicUsize,
}

impl Host for Watched {
    fn read(&self, path: &Path) -> Result<Vec<u8>, HostError> {
        self.read.lock().unwrap().push(path.to_owned());
        self.memory.read(path)
    }
    fn is_file(&self, path: &Path) -> bool {
        self.memory.is_file(path)
    }
    fn canonical(&self, path: &Path) -> Result<PathBuf, HostError> {
        self.memory.canonical(path)
    }
    fn walk(&self, below: &Path, root: &Path) -> leadsman::archive::Walked {
        self.walks.fetch_add(1, Ordering::Relaxed);
        self.memory.walk(below, root)
    }
}

#[test]
fn nothing_outside_the_root_is_read() {
    let plan = r#"
use "../secret.kit.kdl"
use "/etc/secret.kit.kdl"
use "../../../../../../etc/secret.kit.kdl"
use "kit/../../secret.kit.kdl"
use "C:/secret.kit.kdl"
use "..\\secret.kit.kdl"
use "notes.txt"
plan "x" status=template from="../../secret.plan.kdl"
"#;
    let memory = Memory::new()
        .file("/club/x.plan.kdl", plan)
        .file("/club/notes.txt", "secret")
        .file("/secret.kit.kdl", "diver \"x\"")
        .file("/secret.plan.kdl", "plan \"x\"")
        .file("/etc/secret.kit.kdl", "diver \"x\"");
    let host = Arc::new(Watched { memory, read: Mutex::default(), walks: AtomicUsize::new(0) });
    let archive = Archive::open(host.clone(), Path::new("/club"));
    assert_eq!(host.walks.load(Ordering::Relaxed), 0, "opening reads nothing");
    let faults = said(&archive, "x.plan.kdl", "use-outside");
    assert_eq!(faults.len(), 8, "{faults:#?}");
    assert_eq!(*host.read.lock().unwrap(), [PathBuf::from("/club/x.plan.kdl")]);
}

#[test]
fn a_nested_root_is_a_root() {
    let inner = "use \"../shared.kit.kdl\"\nplan \"x\" status=template";
    let outer = "use \"inner/kit.kit.kdl\"\nplan \"x\" status=template";
    let files = [
        ("shared.kit.kdl", "diver \"Ada\""),
        ("outer.plan.kdl", outer),
        ("inner/leadsman.kdl", "limits { depth 30 }"),
        ("inner/kit.kit.kdl", "diver \"Ines\""),
        ("inner/x.plan.kdl", inner),
    ];
    let archive = archive(&files);
    assert_eq!(said(&archive, "inner/x.plan.kdl", "use-outside").len(), 1);
    assert_eq!(said(&archive, "outer.plan.kdl", "use-outside").len(), 0);
    assert!(archive.plan(&id("outer.plan.kdl")).unwrap().limits.said(LimitName::Depth).is_none());
    assert!(archive.plan(&id("inner/x.plan.kdl")).unwrap().limits.said(LimitName::Depth).is_some());
}

#[test]
fn the_root_is_the_nearest_root_file_then_the_repository_then_the_folder() {
    let host = Memory::new()
        .file("/a/.git/HEAD", "")
        .file("/a/club/leadsman.kdl", "")
        .file("/a/club/plans/x.plan.kdl", "")
        .file("/a/other/y.plan.kdl", "")
        .file("/b/z.plan.kdl", "");
    let root = |path: &str| Archive::root_of(&host, Path::new(path));
    assert_eq!(root("/a/club/plans/x.plan.kdl"), Path::new("/a/club"));
    assert_eq!(root("/a/club/plans"), Path::new("/a/club"));
    assert_eq!(root("/a/club/leadsman.kdl"), Path::new("/a/club"));
    assert_eq!(root("/a/other/y.plan.kdl"), Path::new("/a"));
    assert_eq!(root("/b/z.plan.kdl"), Path::new("/b"));
    assert_eq!(root("/b/not-there-yet.plan.kdl"), Path::new("/b"));
}

#[test]
fn paths_and_ids_go_both_ways() {
    let archive = archive(&[("plans/x.plan.kdl", "")]);
    let file = id("plans/x.plan.kdl");
    assert_eq!(archive.id_of(&archive.path_of(&file)), Some(file.clone()));
    assert_eq!(archive.id_of(Path::new("/club/kit/../plans/./x.plan.kdl")), Some(file));
    assert_eq!(archive.id_of(Path::new("/elsewhere/x.plan.kdl")), None);
    assert_eq!(archive.id_of(Path::new("/club/../x.plan.kdl")), None);
    assert_eq!(archive.id_of(Path::new("/club")), None);
}

#[test]
fn a_walk_finds_the_languages_files_in_order() {
    let host = Memory::new()
        .file("/club/z.plan.kdl", "")
        .file("/club/a/b.kit.kdl", "")
        .file("/club/leadsman.kdl", "")
        .file("/club/notes.kdl", "")
        .file("/club/a/readme.md", "")
        .file("/clubs/x.plan.kdl", "");
    let archive = Archive::open(Arc::new(host), Path::new("/club"));
    let names = |files: Vec<leadsman::source::FileId>| files.iter().map(ToString::to_string).collect::<Vec<_>>();
    assert_eq!(names(archive.walk(&[])), ["a/b.kit.kdl", "leadsman.kdl", "z.plan.kdl"]);
    assert_eq!(names(archive.walk(&[Path::new("/club/a"), Path::new("/club/a/b.kit.kdl")])), ["a/b.kit.kdl"]);
    assert_eq!(
        names(archive.walk(&[Path::new("/club/notes.kdl")])),
        ["notes.kdl"],
        "a file that is named is looked at"
    );
    assert_eq!(names(archive.walk(&[Path::new("/clubs")])), [""; 0]);
    let open = archive.with(&[Change::Open(id("a/new.plan.kdl"), Text::new(""))]);
    assert_eq!(names(open.walk(&[Path::new("/club/a")])), ["a/b.kit.kdl", "a/new.plan.kdl"]);
    assert_eq!(names(open.walk(&[])).len(), 4);
}

#[cfg(unix)]
#[test]
fn links_out_of_the_root_are_refused_and_links_inside_are_not() {
    let disk = tempfile::tempdir().unwrap();
    let (club, outside) = (disk.path().join("club"), disk.path().join("outside"));
    fs::create_dir_all(&club).unwrap();
    fs::create_dir_all(&outside).unwrap();
    fs::write(outside.join("secret.kit.kdl"), "diver \"Secret\"").unwrap();
    fs::write(club.join("crew.kit.kdl"), "diver \"Rowan\"").unwrap();
    std::os::unix::fs::symlink(outside.join("secret.kit.kdl"), club.join("link.kit.kdl")).unwrap();
    std::os::unix::fs::symlink(&outside, club.join("folder")).unwrap();
    std::os::unix::fs::symlink("crew.kit.kdl", club.join("inside.kit.kdl")).unwrap();
    std::os::unix::fs::symlink("loop.kit.kdl", club.join("loop.kit.kdl")).unwrap();
    let plan = "use \"link.kit.kdl\"\nuse \"folder/secret.kit.kdl\"\nuse \"inside.kit.kdl\"\nuse \"loop.kit.kdl\"\n\
                plan \"x\" status=template";
    fs::write(club.join("x.plan.kdl"), plan).unwrap();
    let archive = Archive::open(Arc::new(Disk), &club);
    let faults = said(&archive, "x.plan.kdl", "use-outside");
    let under: Vec<_> = faults.iter().map(|(under, _)| under.as_str()).collect();
    assert_eq!(under, ["\"link.kit.kdl\"", "\"folder/secret.kit.kdl\"", "\"loop.kit.kdl\""], "{faults:#?}");
    let scope = archive.scope(&id("x.plan.kdl"));
    assert_eq!(scope.divers.keys().collect::<Vec<_>>(), ["Rowan"]);
    assert!(archive.text(&id("link.kit.kdl")).unwrap_err().to_string().contains("out of the archive's root"));
    assert!(archive.text(&id("../outside/secret.kit.kdl")).is_err());
    // A walk doesn't follow the folder, and a check of it all says what can't be read.
    let report = archive.check(&archive.walk(&[]), &|| ());
    let unread: Vec<_> = report.unread.iter().map(|(file, _)| file.as_str()).collect();
    assert_eq!(unread, ["link.kit.kdl", "loop.kit.kdl"]);
}

#[cfg(unix)]
#[test]
fn only_regular_files_of_a_sane_size_are_read() {
    let disk = tempfile::tempdir().unwrap();
    let huge = fs::File::create(disk.path().join("huge.kit.kdl")).unwrap();
    huge.set_len(MAX_BYTES + 1).unwrap();
    fs::create_dir(disk.path().join("folder.kit.kdl")).unwrap();
    let archive = Archive::open(Arc::new(Disk), disk.path());
    assert!(archive.text(&id("huge.kit.kdl")).unwrap_err().to_string().contains("16 MiB"));
    assert!(archive.text(&id("folder.kit.kdl")).unwrap_err().to_string().contains("not a regular file"));
    assert!(archive.text(&id("missing.kit.kdl")).is_err());
    // A socket stands for all that would make a reader wait.
    let _socket = std::os::unix::net::UnixListener::bind(disk.path().join("socket.kit.kdl")).unwrap();
    assert!(archive.text(&id("socket.kit.kdl")).is_err());
}

#[test]
fn ignore_lists_are_heeded_with_or_without_a_repository() {
    let disk = tempfile::tempdir().unwrap();
    let write = |path: &str, text: &str| {
        let path = disk.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    write(".gitignore", "drafts/\n");
    write("drafts/x.plan.kdl", "");
    write("plans/b.plan.kdl", "");
    write("plans/a.plan.kdl", "");
    write(".hidden/y.plan.kdl", "");
    let archive = Archive::open(Arc::new(Disk), disk.path());
    let names: Vec<_> = archive.walk(&[]).iter().map(ToString::to_string).collect();
    assert_eq!(names, ["plans/a.plan.kdl", "plans/b.plan.kdl"]);
    // What is asked for by name is looked at even so.
    let asked = archive.walk(&[&disk.path().join("drafts/x.plan.kdl")]);
    assert_eq!(asked, [id("drafts/x.plan.kdl")]);
}
