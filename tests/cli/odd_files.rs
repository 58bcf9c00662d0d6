//! Files that are no plans: nothing panics, everything is named.

use super::{DATE, Folder, GOOD};

#[test]
fn bytes_that_are_not_utf8_are_one_finding() {
    let folder = Folder::new(&[]);
    folder.write("odd.plan.kdl", [GOOD.as_bytes(), b"// \xff \xfe\n"].concat());
    let ran = folder.run(&["check", "--format=line"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    assert!(ran.out.starts_with("odd.plan.kdl:2:4: error syntax: "), "{ran:?}");
    assert!(ran.out.contains("1 finding (1 error)"), "{ran:?}");
}

#[test]
fn any_bytes_are_checked() {
    let folder = Folder::new(&[("empty.plan.kdl", ""), ("mark.plan.kdl", "\u{feff}"), ("blank.plan.kdl", "\r\n\r")]);
    let mut state = crate::seed::or(1) as u32;
    let noise = (0..20_000).map(|_| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    });
    folder.write("noise.plan.kdl", noise.collect::<Vec<u8>>());
    folder.write("zeros.plan.kdl", [0; 4096]);
    folder.write("long.plan.kdl", format!("plan \"{}\" sattus=1", "é".repeat(2_000_000)));
    folder.write("deep.plan.kdl", "a{".repeat(5_000));
    for format in ["screen", "line", "json"] {
        let ran = folder.run(&["check", "--format", format]);
        assert!(ran.code == Some(1) && ran.err.is_empty(), "{format}: {:?} {}", ran.code, ran.err);
        assert!(ran.joined().contains(leadsman::CAUTION), "{format}");
    }
    let screen = folder.run(&["check", "long.plan.kdl"]).out;
    assert!(screen.len() < 20_000, "a long line is cut: {} bytes", screen.len());
}

#[test]
fn what_is_too_large_is_named() {
    let folder = Folder::new(&[("good.plan.kdl", GOOD)]);
    std::fs::File::create(folder.path("huge.plan.kdl")).unwrap().set_len(1 << 30).unwrap();
    let ran = folder.run(&["check"]);
    assert!(ran.code == Some(2) && ran.joined().contains("is not read: it is larger than 16 MiB"), "{ran:?}");
    assert!(ran.out.contains("huge.plan.kdl") && ran.out.contains("in 3 files"), "{ran:?}");
}

#[test]
fn a_folder_with_a_plans_name_is_a_folder() {
    let folder = Folder::new(&[("x.plan.kdl/inside.plan.kdl", DATE)]);
    let ran = folder.run(&["check", "--format=line", "x.plan.kdl"]);
    assert!(ran.code == Some(1) && ran.out.starts_with("x.plan.kdl/inside.plan.kdl:1:"), "{ran:?}");
    assert_eq!(folder.run(&["check"]).code, Some(1));
}

#[cfg(unix)]
#[test]
fn what_is_no_file_is_named_and_not_waited_for() {
    use std::os::unix::net::UnixListener;
    let folder = Folder::new(&[("good.plan.kdl", GOOD)]);
    let _socket = UnixListener::bind(folder.path("socket.plan.kdl")).unwrap();
    let ran = folder.run(&["check", "socket.plan.kdl"]);
    assert!(ran.code == Some(2) && ran.err.contains("socket.plan.kdl"), "{ran:?}");
    let line = |folder: &Folder| folder.run(&["check", "--format=line"]);
    let ran = line(&folder);
    assert!(
        ran.code == Some(2)
            && ran.out.contains(
                "socket.plan.kdl:1:1: error use-outside: socket.plan.kdl is not read: it is not a regular file"
            )
    );
    std::os::unix::fs::symlink("gone", folder.path("dangling.plan.kdl")).unwrap();
    let ran = folder.run(&["check", "dangling.plan.kdl"]);
    assert!(ran.code == Some(2) && ran.err.contains("dangling.plan.kdl"), "{ran:?}");
    assert!(line(&folder).out.contains("dangling.plan.kdl:1:1: error use-outside: dangling.plan.kdl is not read: "));
}

/// A foreign archive can't make its reader look elsewhere, nor wait.
#[cfg(unix)]
#[test]
fn what_leads_out_or_round_is_said_and_not_read() {
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::symlink;
    let outside = Folder::new(&[("secret.kit.kdl", "diver \"Secret\"\n"), ("secret.plan.kdl", DATE)]);
    let folder = Folder::new(&[(
        "use.plan.kdl",
        "use \"link.kit.kdl\"\nuse \"folder/secret.kit.kdl\"\nplan \"x\" on=\"2027-05-15\" { dive \"one\" { diver \"Secret\" } }\n",
    )]);
    symlink(outside.path("secret.kit.kdl"), folder.path("link.kit.kdl")).unwrap();
    symlink(outside.path("secret.plan.kdl"), folder.path("link.plan.kdl")).unwrap();
    symlink(outside.root(), folder.path("folder")).unwrap();
    symlink("round.plan.kdl", folder.path("round.plan.kdl")).unwrap();
    symlink(".", folder.path("self")).unwrap();
    let name = std::ffi::OsStr::from_bytes(b"odd\xff.plan.kdl");
    std::fs::write(folder.root().join(name), GOOD).unwrap();
    let ran = folder.run(&["check", "--format=line"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    for said in [
        "link.plan.kdl:1:1: error use-outside: link.plan.kdl is not read: it leads out of the archive's root",
        "link.kit.kdl:1:1: error use-outside: link.kit.kdl is not read: it leads out of the archive's root",
        "folder:1:1: warning use-outside: folder is not read: it is a link to a folder, which is not followed",
        "self:1:1: warning use-outside: self is not read: it is a link to a folder, which is not followed",
        "round.plan.kdl:1:1: error use-outside: round.plan.kdl is not read: ",
        "odd\u{fffd}.plan.kdl:1:1: error use-outside: odd\u{fffd}.plan.kdl is not read: it has a name that is not Unicode",
        "use.plan.kdl:1:5: error use-outside: ",
        "use.plan.kdl:2:5: error use-outside: ",
        "no diver \"Secret\" is defined in sight",
    ] {
        assert!(ran.out.contains(said), "{said}: {ran:?}");
    }
    assert!(!ran.out.contains("date-invalid") && !ran.out.contains("2027-05-15 "), "{ran:?}");
    for format in ["screen", "json"] {
        let ran = folder.run(&["check", "--format", format]);
        assert!(ran.code == Some(2) && ran.err.is_empty(), "{ran:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_is_named() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new(&[("shut.plan.kdl", GOOD)]);
    std::fs::set_permissions(folder.path("shut.plan.kdl"), std::fs::Permissions::from_mode(0o000)).unwrap();
    if std::fs::File::open(folder.path("shut.plan.kdl")).is_ok() {
        // Whoever runs this may read everything.
        return;
    }
    let ran = folder.run(&["check"]);
    assert!(ran.code == Some(2) && ran.out.contains("shut.plan.kdl"), "{ran:?}");
}

/// A plan that is reached by a link as well is one plan: it stands beside nobody, and what it defines is defined once.
#[cfg(unix)]
#[test]
fn a_link_to_a_plan_is_no_plan_of_its_own() {
    use std::os::unix::fs::symlink;
    let ready =
        GOOD.replacen("status=draft", "status=ready", 1).replacen("dive \"one\"", "dive \"one\" at=\"09:00\"", 1);
    let (plan, kit) = ready.split_once("}; }; ").unwrap();
    let ready = format!("use \"/club.kit.kdl\"; {plan}}}; }}\n");
    let folder = Folder::new(&[("plans/a.plan.kdl", &ready), ("club.kit.kdl", kit)]);
    let alone = folder.run(&["check", "--format", "line"]).out.replace("in 2 files", "");
    symlink("plans/a.plan.kdl", folder.path("link.plan.kdl")).unwrap();
    let linked = folder.run(&["check", "--format", "line"]).out;
    assert!(!linked.contains("overlap") && !linked.contains("clash") && !linked.contains("duplicate"), "{linked}");
    // It is looked at under both names.
    let lines = |out: &str| out.lines().filter(|line| !line.starts_with("leadsman:")).count();
    assert_eq!(lines(&linked), 2 * lines(&alone), "{alone}{linked}");
    // A copy is another matter.
    folder.write("copy.plan.kdl", &ready);
    let copied = folder.run(&["check", "--format", "line"]).out;
    assert!(copied.contains("overlap"), "{copied}");
}

/// A file that is gone by the time it is read was meant all the same: it is named, and the check was not whole.
#[test]
fn a_file_that_vanished_meanwhile_is_named() {
    use leadsman::archive::{Archive, Host, HostError, Memory, Walked};
    use std::path::{Path, PathBuf};
    #[derive(Debug)]
    struct Vanishing(Memory);
    impl Host for Vanishing {
        fn read(&self, path: &Path) -> Result<Vec<u8>, HostError> {
            self.0.read(path)
        }
        fn is_file(&self, path: &Path) -> bool {
            self.0.is_file(path)
        }
        fn canonical(&self, path: &Path) -> Result<PathBuf, HostError> {
            self.0.canonical(path)
        }
        fn walk(&self, below: &Path, root: &Path) -> Walked {
            let mut walked = self.0.walk(below, root);
            walked.files.push(PathBuf::from("/club/gone.plan.kdl"));
            walked
        }
    }
    let host = Vanishing(Memory::new().file("/club/a.plan.kdl", GOOD));
    let archive = Archive::open(std::sync::Arc::new(host), Path::new("/club"));
    let report = archive.check(&archive.walk(&[]), &|| ());
    assert_eq!(report.unread.iter().map(|(file, _)| file.as_str()).collect::<Vec<_>>(), ["gone.plan.kdl"]);
    let said: Vec<&str> =
        report.files.iter().flat_map(|(_, findings)| findings).map(|finding| &*finding.message).collect();
    assert!(said.iter().any(|said| said.starts_with("gone.plan.kdl is not read: ")), "{said:?}");
}
