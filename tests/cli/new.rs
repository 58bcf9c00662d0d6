//! A plan begun from a template.

use super::{Folder, is_honest};
use leadsman::CAUTION;

const TEMPLATE: &str = "plan \"The \\\"shelf\\\"\" status=template {
    limits { gradient low=45 high=80 }
    dive \"shelf\" {
        descend 18 rate=15
        stay 20 work=light
        ascend
    }
    dive \"again\" {
        diver \"Rowan\"
    }
}
";

fn folder() -> Folder {
    Folder::new(&[("templates/shelf.plan.kdl", TEMPLATE)])
}

#[test]
fn what_the_template_leaves_open_is_marked_and_found() {
    let folder = folder();
    let new = ["new", "templates/shelf.plan.kdl", "--on", "2027-05-15"];
    let begun = folder.run(&[&new[..], &["--out", "plans.plan.kdl"]].concat());
    assert_eq!((begun.code, &*begun.out), (Some(0), ""), "{begun:?}");
    assert!(begun.err.contains("4 things are still to be said") && begun.err.contains(CAUTION), "{begun:?}");
    let text = String::from_utf8(folder.read("plans.plan.kdl")).unwrap();
    assert_eq!(
        text,
        r#"plan "The \"shelf\"" on="2027-05-15" status=draft from="templates/shelf.plan.kdl" {
    // To be said: neither the plan nor its template says the site. For example:
    // site "" water=fresh altitude=0 temperature=10
    dive "shelf" {
        // To be said: dive "shelf" has no diver. For example:
        // diver "" unit="" supply="" bailout="" set-point=26
    }
    dive "again" {
        // To be said: dive "again" has no legs: nothing says where it goes. For example:
        // descend 0; stay 0; ascend
        // To be said: diver "Rowan" takes no cylinder on dive "again". For example:
        // diver "Rowan" supply="" bailout=""
    }
}
"#
    );
    let checked = folder.run(&["check", "--format", "line", "plans.plan.kdl"]);
    is_honest(&folder.run(&["check", "plans.plan.kdl"]));
    assert_eq!(checked.out.matches("template-gap").count(), 4, "{checked:?}");
    assert!(!checked.out.contains("syntax") && !checked.out.contains("unknown-word"), "{checked:?}");
    // The same on standard output, and another name.
    assert_eq!(folder.run(&new).out, text);
    let named = folder.run(&[&new[..], &["--name", "Saturday"]].concat());
    assert!(named.out.starts_with("plan \"Saturday\" on="), "{named:?}");
}

#[test]
fn nothing_is_written_over_or_outside() {
    let folder = folder();
    folder.write("there.plan.kdl", "");
    let refused = |args: &[&str], why: &str| {
        let ran = folder.run(&[&["new"], args].concat());
        assert_eq!(ran.code, Some(2), "{ran:?}");
        assert!(ran.err.contains(why), "{ran:?}");
    };
    let from = "templates/shelf.plan.kdl";
    refused(&[from, "--on", "2027-05-15", "--out", "there.plan.kdl"], "is there already");
    assert!(folder.read("there.plan.kdl").is_empty());
    refused(&[from, "--on", "2027-05-15", "--out", "there.kdl"], "is named *.plan.kdl");
    refused(&[from, "--on", "2027-05-15", "--out", "../out.plan.kdl"], "outside the archive");
    refused(&[from, "--on", "2027-02-30"], "2027-02-30");
    refused(&["leadsman.kdl", "--on", "2027-05-15"], "holds no plan");
    refused(&["none.plan.kdl", "--on", "2027-05-15"], "none.plan.kdl");
}

#[test]
fn names_that_hide_something_are_written_by_their_numbers() {
    let folder = Folder::new(&[(
        "t.plan.kdl",
        "plan \"a\\u{1b}[31mb\\u{7}\" on=\"2027-05-01\" status=draft {\n    dive \"x\\u{1b}y\" { descend 9; stay 5; ascend; }\n}\n",
    )]);
    for name in [&[][..], &["--name", "q\u{1b}[2J\u{7f}z\u{202e}\u{85}"]] {
        let ran = folder.run(&[&["new", "t.plan.kdl", "--on", "2027-06-01"], name].concat());
        assert!(ran.out.chars().all(|c| c == '\n' || !c.is_control() && c != '\u{202e}'), "{ran:?}");
        folder.write("n.plan.kdl", &ran.out);
        let said = folder.run(&["check", "--format", "line", "n.plan.kdl"]).out;
        assert!(!said.contains("error syntax"), "{said}");
    }
}
