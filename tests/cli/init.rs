//! An archive begun by `leadsman init`.

use std::collections::BTreeSet;

use serde_json::Value;

use super::{Folder, leadsman};
use leadsman::CAUTION;

/// What `check` finds, by rule.
fn found(folder: &Folder, args: &[&str]) -> Vec<(String, String)> {
    let ran = folder.run(&[&["check", "--format", "json"], args].concat());
    let page: Value = serde_json::from_str(&ran.out).unwrap();
    let findings = page["files"].as_array().unwrap().iter().flat_map(|file| file["findings"].as_array().unwrap());
    let told = |finding: &Value| {
        (finding["rule"].as_str().unwrap().to_owned(), finding["message"].as_str().unwrap().to_owned())
    };
    findings.map(told).collect()
}

#[test]
fn it_raises_what_is_still_to_be_answered_and_nothing_else() {
    let folder = Folder::new(&[]);
    std::fs::remove_file(folder.path("leadsman.kdl")).unwrap();
    let ran = folder.run(&["init"]);
    assert_eq!((ran.code, &*ran.err), (Some(0), ""));
    assert!(ran.out.matches("written: ").count() == 5 && ran.joined().contains(CAUTION), "{ran:?}");
    let rules: BTreeSet<String> = found(&folder, &[]).into_iter().map(|(rule, _)| rule).collect();
    assert_eq!(rules, BTreeSet::from(["template-gap".to_owned(), "usual-value".to_owned()]));
}

/// Answered as it asks, the first plan is a dive without an error, and `stops` shows it.
#[test]
fn what_is_asked_for_makes_a_dive_without_error() {
    let folder = Folder::new(&[]);
    std::fs::remove_file(folder.path("leadsman.kdl")).unwrap();
    folder.run(&["init"]);
    let answered = |name: &str, answers: &[(&str, &str)]| {
        let mut text = String::from_utf8(folder.read(name)).unwrap();
        for (open, answer) in answers {
            assert!(text.contains(open), "{name}: {open}");
            text = text.replace(open, answer);
        }
        assert!(!text.contains("\"?\""), "{name}: {text}");
        folder.write(name, text);
    };
    answered("crew.kit.kdl", &[("on=\"?\"", "on=\"2026-05-02\""), ("until=\"?\"", "until=\"2028-01-31\"")]);
    answered(
        "kit/cylinders.kit.kdl",
        &[
            (
                "fill \"?\" on=\"?\" by=\"?\" o2=21 analysed=\"?\"",
                "fill 210 on=\"2027-05-14\" by=\"diver A\" o2=21 analysed=20.9",
            ),
            ("due=\"?\"", "due=\"2029-01-31\""),
        ],
    );
    answered(
        "templates/easy-18.plan.kdl",
        &[
            ("chamber=\"?\" phone=\"?\"", "chamber=\"County\" phone=\"000 555 0142\""),
            ("evacuation \"?\"", "evacuation 45"),
        ],
    );
    answered("plans/first.plan.kdl", &[("on=\"?\"", "on=\"2027-05-15\"")]);
    let errors: Vec<_> = found(&folder, &[]).into_iter().filter(|(rule, _)| rule != "usual-value").collect();
    assert_eq!(errors, []);
    let ran = folder.run(&["stops", "plans/first.plan.kdl"]);
    assert!(ran.code == Some(0) && ran.out.contains("diver \"diver B\""), "{ran:?}");
}

#[test]
fn nothing_that_is_there_is_touched() {
    let folder = Folder::new(&[("crew.kit.kdl", "mine")]);
    let ran = folder.run(&["init"]);
    assert_eq!(ran.code, Some(0));
    assert!(
        ran.out.contains("left as it is: ./crew.kit.kdl") && ran.out.contains("left as it is: ./leadsman.kdl"),
        "{ran:?}"
    );
    assert_eq!((folder.read("crew.kit.kdl"), folder.read("leadsman.kdl")), (b"mine".to_vec(), Vec::new()));
    let ran = super::Ran::of(leadsman(folder.root()).args(["init", "new/club"]).output().unwrap());
    assert!(ran.code == Some(0) && folder.path("new/club/plans/first.plan.kdl").is_file(), "{ran:?}");
    let ran = folder.run(&["init", "crew.kit.kdl"]);
    assert!(ran.code == Some(2) && ran.err.contains("crew.kit.kdl"), "{ran:?}");
}
