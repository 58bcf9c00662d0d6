//! What `--fix` does to files.

use super::{DATE, Folder, GOOD, is_honest};

const MENDED: &str = GOOD;

#[test]
fn a_safe_fix_is_made_and_said() {
    let folder = Folder::new(&[("date.plan.kdl", DATE), ("good.plan.kdl", GOOD)]);
    let ran = folder.run(&["check", "--fix"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(ran.err.contains("mended date.plan.kdl:1: write \"2027-05-15\" (syntax)"), "{ran:?}");
    assert_eq!(folder.read("date.plan.kdl"), MENDED.as_bytes());
    is_honest(&ran);
    let again = folder.run(&["check", "--fix=safe"]);
    assert!(again.code == Some(0) && again.err.is_empty(), "{again:?}");
}

#[test]
fn what_is_not_to_be_changed_is_not_touched() {
    let folder = Folder::new(&[("good.plan.kdl", GOOD), ("date.plan.kdl", DATE)]);
    let stamp = |name: &str| std::fs::metadata(folder.path(name)).unwrap().modified().unwrap();
    let before = (stamp("good.plan.kdl"), stamp("date.plan.kdl"));
    folder.run(&["check", "--fix=suggested", "good.plan.kdl"]);
    folder.run(&["check"]);
    assert_eq!((stamp("good.plan.kdl"), stamp("date.plan.kdl")), before);
    assert_eq!(folder.read("date.plan.kdl"), DATE.as_bytes());
}

#[test]
fn the_byte_order_mark_and_the_line_ends_stay() {
    let windows = DATE.replace('\n', "\r\n");
    let folder = Folder::new(&[("date.plan.kdl", &format!("\u{feff}{windows}// the end"))]);
    assert_eq!(folder.run(&["check", "--fix"]).code, Some(0));
    let expected = format!("\u{feff}{}// the end", MENDED.replace('\n', "\r\n"));
    assert_eq!(String::from_utf8(folder.read("date.plan.kdl")).unwrap(), expected);
}

#[test]
fn suggestions_are_made_only_where_asked_for() {
    let text = &GOOD.replacen("high=80", "high=80 high=85", 1);
    let folder = Folder::new(&[("twice.plan.kdl", text)]);
    let ran = folder.run(&["check", "--fix"]);
    assert!(ran.code == Some(1) && ran.out.contains("(a suggestion)"), "{ran:?}");
    assert_eq!(folder.read("twice.plan.kdl"), text.as_bytes());
    let ran = folder.run(&["check", "--fix=suggested"]);
    assert!(ran.code == Some(0) && ran.err.contains("duplicate-property"), "{ran:?}");
    assert_ne!(folder.read("twice.plan.kdl"), text.as_bytes());
}

#[test]
fn a_file_that_is_not_utf8_is_left_and_said() {
    let folder = Folder::new(&[]);
    let bytes = [DATE.as_bytes(), b"// \xff\n"].concat();
    folder.write("date.plan.kdl", &bytes);
    let ran = folder.run(&["check", "--fix"]);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    assert_eq!(folder.read("date.plan.kdl"), bytes);
}

#[cfg(unix)]
mod unix {
    use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};

    use super::super::{DATE, Folder};
    use super::MENDED;

    fn chmod(folder: &Folder, name: &str, mode: u32) {
        std::fs::set_permissions(folder.path(name), std::fs::Permissions::from_mode(mode)).unwrap();
    }

    #[test]
    fn the_mode_stays() {
        for mode in [0o600, 0o664, 0o755] {
            let folder = Folder::new(&[("date.plan.kdl", DATE)]);
            chmod(&folder, "date.plan.kdl", mode);
            assert_eq!(folder.run(&["check", "--fix"]).code, Some(0));
            assert_eq!(folder.path("date.plan.kdl").metadata().unwrap().mode() & 0o7777, mode);
            assert_eq!(folder.read("date.plan.kdl"), MENDED.as_bytes());
        }
    }

    #[test]
    fn a_file_that_may_only_be_read_is_left_and_said() {
        let folder = Folder::new(&[("date.plan.kdl", DATE)]);
        chmod(&folder, "date.plan.kdl", 0o444);
        let ran = folder.run(&["check", "--fix"]);
        assert!(ran.code == Some(2) && ran.err.contains("left date.plan.kdl as it is"), "{ran:?}");
        // What is shown is what stands on disk.
        assert!(ran.out.contains("1 finding (1 error)"), "{ran:?}");
        assert_eq!(folder.read("date.plan.kdl"), DATE.as_bytes());
    }

    #[test]
    fn a_link_inside_the_root_is_written_through() {
        let folder = Folder::new(&[("real/date.plan.kdl", DATE)]);
        symlink("real/date.plan.kdl", folder.path("link.plan.kdl")).unwrap();
        let ran = folder.run(&["check", "--fix"]);
        assert_eq!(ran.code, Some(0), "{ran:?}");
        assert!(folder.path("link.plan.kdl").is_symlink());
        assert_eq!(folder.read("real/date.plan.kdl"), MENDED.as_bytes());
        assert_eq!(ran.err.matches("mended").count(), 1, "{ran:?}");
    }

    #[test]
    fn a_link_out_of_the_root_is_not_followed() {
        let (folder, other) = (Folder::new(&[]), Folder::new(&[("date.plan.kdl", DATE)]));
        symlink(other.path("date.plan.kdl"), folder.path("link.plan.kdl")).unwrap();
        let ran = folder.run(&["check", "--fix"]);
        assert!(ran.code == Some(2) && ran.out.contains("link.plan.kdl"), "{ran:?}");
        assert_eq!(other.read("date.plan.kdl"), DATE.as_bytes());
    }
}

/// What a fix can't mend holds up nothing else of its file.
#[test]
fn a_fix_that_does_not_mend_holds_up_no_other() {
    let plan = |status: &str, more: &str| {
        format!("plan \"x\" on=2027-05-15 {status} {{\n    dive \"one\" {{ descend 12; ascend; }}\n}}\n{more}")
    };
    let cases = [
        ("status/-draft", "", "status/-draft"),
        ("status=((draft", "", "status=((draft"),
        ("status=draft", "cylinder \"S\" size=12 { fill 205fillon=\"2027-05-14\"; }\n", "status=draft"),
    ];
    for (status, more, then) in cases {
        let folder = Folder::new(&[("a.plan.kdl", &plan(status, more))]);
        let ran = folder.run(&["check", "--fix"]);
        let text = String::from_utf8(folder.read("a.plan.kdl")).unwrap();
        assert!(text.contains("on=\"2027-05-15\"") && text.contains(then), "{status}: {text}\n{}", ran.err);
        let again = folder.run(&["check", "--fix"]);
        assert_eq!(String::from_utf8(folder.read("a.plan.kdl")).unwrap(), text, "{}", again.err);
        assert!(!again.err.contains("mended"), "nothing is mended again: {}", again.err);
    }
}

/// What is usual is offered, and written down as no more than that; what is there of a diver's own is never mixed with it.
#[test]
fn usual_figures_are_a_suggestion_where_a_diver_s_own_are_lacking() {
    let whole = super::GOOD;
    let gas = " gas rest=16 peak=60;";
    let at = whole.find("diver \"Rowan\" { trained").unwrap();
    let (plan, kit) = (format!("use \"crew.kit.kdl\"\n{}\n", &whole[..at]), whole[at..].replace(gas, ""));
    for (kit, line) in [
        (kit.clone(), "diver \"Rowan\" { gas usual=yes rest=15 peak=60; trained"),
        (kit.replace("{ trained", "{\n  trained"), "diver \"Rowan\" {\n    gas usual=yes rest=15 peak=60\n  trained"),
        (
            format!(
                "measures imperial\n{}",
                kit.replace("depth=39", "depth=(m)39")
                    .replace("size=15 working=232", "size=(l)15 working=(bar)232")
                    .replace("fill 220", "fill (bar)220")
            ),
            "diver \"Rowan\" { gas usual=yes rest=(l)15 peak=(l)60; trained",
        ),
    ] {
        let folder = Folder::new(&[("shelf.plan.kdl", &plan), ("crew.kit.kdl", &kit)]);
        let ran = folder.run(&["check", "--format", "line", "--fix"]);
        assert!(ran.out.contains("not simulated: it lacks `gas rest=` and `peak=` of diver \"Rowan\""), "{}", ran.out);
        assert_eq!(folder.read("crew.kit.kdl"), kit.as_bytes(), "a suggestion is not followed unasked");
        let ran = folder.run(&["check", "--format", "line", "--fix=suggested"]);
        let now = String::from_utf8(folder.read("crew.kit.kdl")).unwrap();
        assert!(now.contains(line), "{now}\n{}", ran.err);
        assert!(ran.out.contains("1 of 1 dive simulated"), "{}", ran.out);
        // In a plan that is ready each usual figure is told of.
        folder.write("shelf.plan.kdl", plan.replace("status=draft", "status=ready"));
        let ran = folder.run(&["check", "--format", "line"]);
        assert!(
            ran.out.contains("`gas` of diver \"Rowan\" is not said; not checked without it: usual-value"),
            "{}",
            ran.out
        );
    }
}
