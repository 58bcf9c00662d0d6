//! What is listed, how much of it, and what mending would do.

use serde_json::Value;

use super::{DATE, Folder, GOOD, is_honest};

/// A plan with an error that can't be waived, a warning and notes.
const MIXED: &str = concat!(
    "plan \"Shelf\" on=2027-05-15 status=draft { site \"Greyfen quarry\" altitude=210 temperature=12; ",
    "limits { gradient low=45 high=80; reserve 50; }; ",
    "dive \"one\" { descend 12; stay 20 work=light; ascend; diver \"Rowan\" back=\"S15-02\"; }; }\n",
    "diver \"Rowan\" { trained kind=open depth=9 deco=10 on=\"2022-06-11\"; gas rest=16 peak=60; fit until=\"2027-12-31\"; }\n",
    "cylinder \"S15-02\" size=15 working=232 { fill 220 on=\"2027-05-14\" by=\"Ines\" o2=32 analysed=31.9; test due=\"2030-01-01\"; }\n",
    "cylinder \"S15-03\" size=15 working=232\ncylinder \"S15-04\" size=15 working=232\n",
);

fn rules(folder: &Folder, args: &[&str]) -> Vec<String> {
    let ran = folder.run(&[&["check", "--format", "json"], args].concat());
    let page: Value = serde_json::from_str(&ran.out).unwrap();
    let findings = page["files"].as_array().unwrap().iter().flat_map(|file| file["findings"].as_array().unwrap());
    findings.map(|finding| finding["rule"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn what_is_asked_for_is_listed_and_the_rest_is_counted() {
    let folder = Folder::new(&[("a.plan.kdl", MIXED)]);
    let all = rules(&folder, &[]);
    assert!(all.contains(&"unused-definition".to_owned()) && all.len() >= 3, "{all:?}");
    // What can't be waived is listed whatever is asked for.
    let unused = rules(&folder, &["--select", "unused-definition"]);
    assert_eq!(unused.iter().filter(|rule| *rule == "unused-definition").count(), 2, "{unused:?}");
    assert!(unused.iter().any(|rule| rule != "unused-definition"), "{unused:?}");
    assert_eq!(rules(&folder, &["--ignore", "syntax,date-invalid", "--select", "unused-definition"]), unused);
    let others = rules(&folder, &["--ignore", "language"]);
    assert!(!others.contains(&"unused-definition".to_owned()) && others.len() + 2 == all.len(), "{others:?} {all:?}");
    let ran = folder.run(&["check", "--ignore", "unused-definition"]);
    assert!(ran.joined().contains("not selected: 2 unused-definition"), "{ran:?}");
    is_honest(&ran);
    let page: Value =
        serde_json::from_str(&folder.run(&["check", "--format", "json", "--ignore", "unused-definition"]).out).unwrap();
    assert_eq!(page["summary"]["not_selected"], 2);
    let ran = folder.run(&["check", "--ignore", "unused-definitoin"]);
    assert!(ran.code == Some(2) && ran.err.contains("did you mean unused-definition"), "{ran:?}");
}

#[test]
fn no_more_are_listed_than_asked_for_and_the_status_stays() {
    let folder = Folder::new(&[("a.plan.kdl", MIXED), ("b.plan.kdl", GOOD)]);
    let whole = folder.run(&["check", "--format", "line"]);
    let ran = folder.run(&["check", "--format", "line", "--max-findings", "1"]);
    let told: Vec<&str> = ran.out.lines().filter(|line| !line.starts_with("leadsman:")).collect();
    assert!(told.len() == 1 && told[0].contains(" error "), "the gravest: {told:?}");
    assert_eq!(ran.code, whole.code);
    assert!(ran.out.contains("beyond the 1 of --max-findings"), "{ran:?}");
    let summary = |out: &str| out.lines().find(|line| line.contains(" in 3 files")).unwrap().to_owned();
    assert_eq!(summary(&ran.out), summary(&whole.out), "all are counted");
    let none = folder.run(&["check", "--max-findings", "0"]);
    assert_eq!(none.code, whole.code);
    let page: Value =
        serde_json::from_str(&folder.run(&["check", "--format", "json", "--max-findings", "2"]).out).unwrap();
    assert!(page["summary"]["not_shown"].as_u64().unwrap() > 0);
}

#[test]
fn quiet_keeps_the_caution_and_the_status() {
    let folder = Folder::new(&[("a.plan.kdl", MIXED)]);
    let ran = folder.run(&["check", "--quiet"]);
    assert_eq!((ran.code, ran.out.trim_end()), (Some(1), &*format!("leadsman: {}", leadsman::CAUTION)));
}

#[test]
fn on_the_screen_errors_come_first_and_colours_when_asked_for() {
    let folder = Folder::new(&[("a.plan.kdl", GOOD), ("b.plan.kdl", MIXED)]);
    let ran = folder.run(&["check"]);
    let at = |what: &str| ran.out.find(what).unwrap_or_else(|| panic!("{what}: {}", ran.out));
    assert!(at("error:") < at("note:"), "{}", ran.out);
    assert!(!ran.out.contains('\u{1b}'));
    assert!(folder.run(&["check", "--color", "always"]).out.contains('\u{1b}'));
    assert!(!folder.run(&["check", "--color", "never"]).out.contains('\u{1b}'));
}

#[test]
fn statistics_say_what_is_met_how_often() {
    let folder = Folder::new(&[("a.plan.kdl", MIXED), ("b.plan.kdl", MIXED)]);
    let ran = folder.run(&["check", "--statistics"]);
    assert!(ran.out.contains("4  note     unused-definition"), "{ran:?}");
    is_honest(&ran);
    let many: String = (0..60).map(|at| format!("cylinder \"C{at}\" size=12\n")).collect();
    folder.write("c.plan.kdl", many + GOOD);
    let ran = folder.run(&["check"]);
    assert!(
        ran.out.lines().any(|line| line.ends_with("note     unused-definition")),
        "below many findings: {}",
        ran.out
    );
}

#[test]
fn files_are_shown_and_what_mending_would_do() {
    let folder = Folder::new(&[("a.plan.kdl", DATE), ("sub/b.plan.kdl", GOOD)]);
    let ran = folder.run(&["check", "--show-files"]);
    assert_eq!((ran.code, &*ran.out), (Some(0), "a.plan.kdl\nleadsman.kdl\nsub/b.plan.kdl\n"));
    let ran = folder.run(&["check", "--diff"]);
    assert_eq!(folder.read("a.plan.kdl"), DATE.as_bytes(), "nothing is done");
    let lines: Vec<&str> = ran.out.lines().collect();
    assert_eq!(lines[..2], ["--- a.plan.kdl", "+++ a.plan.kdl"]);
    assert!(lines[3].starts_with("-plan") && lines[4].starts_with("+plan") && lines[4].contains("on=\"2027-05-15\""));
    assert_eq!(ran.code, Some(1), "what is found is still there");
    let ran = folder.run(&["check", "--fix"]);
    assert!(ran.err.contains("mended a.plan.kdl:1: "), "{ran:?}");
}

#[test]
fn a_text_of_an_editor_is_mended_to_standard_output() {
    let folder = Folder::new(&[("a.plan.kdl", GOOD)]);
    let args = ["check", "--fix", "--stdin", "--path", "a.plan.kdl"];
    let ran = folder.run_with(&args, DATE.as_bytes());
    assert_eq!(ran.out, DATE.replacen("on=2027-05-15", "on=\"2027-05-15\"", 1));
    assert!(ran.code == Some(0) && ran.err.contains("mended") && ran.err.contains(leadsman::CAUTION), "{ran:?}");
    assert_eq!(folder.read("a.plan.kdl"), GOOD.as_bytes(), "the file is left alone");
}

#[test]
fn of_two_readings_none_is_taken_blindly() {
    let text = GOOD.replacen("on=\"2027-05-15\"", "on=\"05/06/2027\"", 1);
    let folder = Folder::new(&[("a.plan.kdl", &text)]);
    let ran = folder.run(&["check", "--fix=suggested"]);
    assert_eq!(folder.read("a.plan.kdl"), text.as_bytes(), "{ran:?}");
    let text = GOOD.replacen("on=\"2027-05-15\"", "on=\"15/05/2027\"", 1);
    folder.write("a.plan.kdl", &text);
    folder.run(&["check", "--fix=suggested"]);
    assert_eq!(folder.read("a.plan.kdl"), GOOD.as_bytes(), "there is one reading alone");
    // Of a limit that is said twice the stricter stays, of a fact neither goes.
    let text = GOOD.replacen("reserve 50;", "reserve 50; reserve 40; po2 working=1.3 working=1.4;", 1).replacen(
        "size=15",
        "size=15 size=12",
        1,
    );
    folder.write("a.plan.kdl", &text);
    folder.run(&["check", "--fix=suggested"]);
    let mended = String::from_utf8(folder.read("a.plan.kdl")).unwrap();
    assert!(mended.contains("reserve 50;") && !mended.contains("reserve 40"), "{mended}");
    assert!(mended.contains("po2 working=1.3;"), "{mended}");
    assert!(mended.contains("size=15 size=12"), "{mended}");
}

/// Where the locale shows no more than ASCII, pages for people are written in it; what programs read stays as it is.
#[test]
fn a_plain_locale_gets_plain_pages() {
    let folder = Folder::new(&[("a.plan.kdl", MIXED), ("b.plan.kdl", GOOD)]);
    let in_c =
        |args: &[&str]| super::Ran::of(super::leadsman(folder.root()).args(args).env("LC_ALL", "C").output().unwrap());
    for args in [
        &["check"][..],
        &["track", "b.plan.kdl"],
        &["stops", "b.plan.kdl"],
        &["explain", "mod-exceeded"],
        &["explain", "--all"],
    ] {
        let (plain, usual) = (in_c(args), folder.run(args));
        assert!(plain.out.is_ascii() && plain.code == usual.code, "{args:?}: {}", plain.out);
        assert!(!usual.out.is_ascii(), "{args:?}");
    }
    for args in [&["check", "--format", "json"][..], &["stops", "b.plan.kdl", "--format", "json"]] {
        assert_eq!(in_c(args).out, folder.run(args).out);
    }
}
