//! A waiver in a kit file is there for any plan: whether one has a use for it is told of the whole archive alone.

use super::{Folder, GOOD, Ran};

const ALLOW: &str = "    allow \"cylinder-test-due\" because=\"tested, the stamp is to come\"\n";

/// A plan and the cylinder that it takes from a kit file, with what is added to it there.
fn club(due: &str, waivers: &str, status: &str) -> Folder {
    let (plan, cylinder) = GOOD.split_once("cylinder ").unwrap();
    let cylinder = cylinder.replace("2030-01-01", due);
    let whole = cylinder.trim_end().strip_suffix('}').unwrap();
    let kit = format!("cylinder {whole}\n{waivers}}}\n");
    let plan = format!("use \"kit.kit.kdl\"\n{}\n", plan.replace("status=draft", &format!("status={status}")));
    Folder::new(&[("kit.kit.kdl", &kit), ("one.plan.kdl", &plan)])
}

/// The lines that tell of idle waivers.
fn told(ran: &Ran) -> Vec<String> {
    ran.out.lines().filter(|line| line.contains("waiver-unused")).map(str::to_owned).collect()
}

fn lines(folder: &Folder, args: &[&str]) -> Ran {
    let args = [&["check", "--format", "line"], args].concat();
    folder.run(&args)
}

#[test]
fn one_that_a_plan_needs_is_quiet_and_so_is_another_that_covers_the_same() {
    for around in ["", ALLOW.trim_start()] {
        let folder = club("2027-01-01", ALLOW, "draft");
        let kit = String::from_utf8(folder.read("kit.kit.kdl")).unwrap();
        folder.write("kit.kit.kdl", format!("{around}{kit}"));
        for from in ["nothing", "the cache"] {
            let ran = lines(&folder, &[]);
            assert_eq!((told(&ran), ran.code), (Vec::new(), Some(0)), "from {from}: {}", ran.out);
            assert!(
                ran.out.contains("cylinder-test-due") && ran.out.contains("(waived: tested"),
                "from {from}: {}",
                ran.out
            );
        }
    }
    let without = lines(&club("2027-01-01", "", "draft"), &[]);
    assert!(without.out.contains("cylinder-test-due") && !without.out.contains("(waived"), "{}", without.out);
}

#[test]
fn one_that_no_plan_needs_is_told_once_and_taken_out() {
    let folder = club("2030-01-01", ALLOW, "draft");
    for from in ["nothing", "the cache"] {
        let ran = lines(&folder, &[]);
        assert_eq!(told(&ran).len(), 1, "from {from}: {}", ran.out);
        assert!(told(&ran)[0].starts_with("kit.kit.kdl:2:"), "{}", ran.out);
        assert_eq!(ran.code, Some(0), "it is a note");
    }
    // One file may be looked at for what it says; that nobody needs it is not known then.
    for file in ["kit.kit.kdl", "one.plan.kdl"] {
        assert_eq!(told(&lines(&folder, &[file])), Vec::<String>::new(), "{file}");
    }
    folder.run(&["check", "--fix"]);
    assert!(!String::from_utf8(folder.read("kit.kit.kdl")).unwrap().contains("allow"));
    assert_eq!(told(&lines(&folder, &[])), Vec::<String>::new());
}

#[test]
fn nobody_is_told_where_no_plan_is_still_to_be_dived() {
    for status in ["dived", "template"] {
        let ran = lines(&club("2030-01-01", ALLOW, status), &[]);
        assert_eq!(told(&ran), Vec::<String>::new(), "{status}: {}", ran.out);
    }
}
