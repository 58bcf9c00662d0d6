//! An archive that is older than its checks: what was found once is left, what is new is not.

use serde_json::Value;

use super::{DATE, Folder, Ran, is_honest};

/// Too fast a descent, twice, and a way up that is; nothing that can't be waived.
const OLD: &str = r#"plan "Shelf" on="2027-05-15" status=draft {
    dive "morning" {
        descend 12 rate=30
        stay 10
        ascend 0 rate=15
        diver "Rowan"
    }
}
diver "Rowan" {
    gas rest=16 peak=60
}
"#;

const FILE: &str = "leadsman.accepted.json";

fn json(folder: &Folder, more: &[&str]) -> Value {
    let ran = folder.run(&[&["check", "--format=json", "--fail-on=never"], more].concat());
    serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"))
}

/// Rules, with whether they were accepted.
fn found(said: &Value) -> Vec<(String, bool)> {
    let files = said["files"].as_array().unwrap().iter();
    let findings = files.flat_map(|file| file["findings"].as_array().unwrap());
    findings.map(|found| (found["rule"].as_str().unwrap().to_owned(), found["accepted"].as_bool().unwrap())).collect()
}

fn accepted(folder: &Folder, args: &[&str]) -> Ran {
    let ran = folder.run(&[&["check", "--accept"], args].concat());
    is_honest(&ran);
    ran
}

#[test]
fn what_was_accepted_is_left_out_and_counted() {
    let folder = Folder::new(&[("old.plan.kdl", OLD)]);
    let before = found(&json(&folder, &[]));
    assert!(before.len() >= 2 && before.iter().all(|(_, accepted)| !accepted), "{before:?}");
    let ran = accepted(&folder, &[]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(ran.err.contains(&format!("{} accepted findings in {FILE}", before.len())), "{ran:?}");
    assert!(ran.joined().contains(&format!("0 findings and {} accepted in 2 files", before.len())), "{ran:?}");
    let again = folder.run(&["check", "--fail-on=note"]);
    assert!(again.code == Some(0) && !again.out.contains("descent-fast"), "{again:?}");
    let said = json(&folder, &[]);
    assert!(found(&said).iter().all(|(_, accepted)| *accepted), "{said}");
    assert_eq!(said["summary"]["accepted"], before.len());
    let lines = folder.run(&["check", "--format=line"]);
    assert!(lines.out.lines().all(|line| line.starts_with("leadsman: ")), "{lines:?}");
    // The same once more changes nothing.
    let text = folder.read(FILE);
    accepted(&folder, &[]);
    assert_eq!(folder.read(FILE), text);
}

#[test]
fn lines_may_move_and_new_findings_are_told() {
    let folder = Folder::new(&[("old.plan.kdl", OLD)]);
    accepted(&folder, &[]);
    folder.write("old.plan.kdl", format!("// Moved down.\n\n{}", OLD.replace("stay 10", "stay   10   // a while")));
    assert!(found(&json(&folder, &[])).iter().all(|(_, accepted)| *accepted));
    // The node that raises it changes: it is a finding again, and the old one is gone.
    folder.write("old.plan.kdl", OLD.replace("rate=30", "rate=31"));
    let said = json(&folder, &[]);
    let standing: Vec<String> =
        found(&said).into_iter().filter(|(_, accepted)| !accepted).map(|(rule, _)| rule).collect();
    assert_eq!(standing, ["descent-fast"]);
    let gone = &said["gone"][0];
    assert_eq!((gone["rule"].as_str(), gone["count"].as_u64()), (Some("descent-fast"), Some(1)));
    assert_eq!(gone["names"], serde_json::json!(["plan \"Shelf\"", "dive \"morning\""]));
    let ran = folder.run(&["check"]);
    let told = "gone: old.plan.kdl: descent-fast at plan \"Shelf\" / dive \"morning\" / descend 12 rate=30";
    assert!(ran.joined().contains(told) && ran.joined().contains("1 accepted finding is gone"), "{ran:?}");
    // Another one of a kind that is there already is not covered.
    let twice = "descend 12 rate=30\n        ascend 5 rate=9\n        descend 12 rate=30";
    folder.write("old.plan.kdl", OLD.replace("descend 12 rate=30", twice));
    let fast: Vec<bool> =
        found(&json(&folder, &[])).into_iter().filter(|(rule, _)| rule == "descent-fast").map(|one| one.1).collect();
    assert_eq!(fast, [true, false]);
    // Accepting again forgets what is gone.
    folder.write("old.plan.kdl", OLD.replace("rate=30", "rate=18"));
    accepted(&folder, &[]);
    assert!(json(&folder, &[]).get("gone").is_none());
    assert!(!String::from_utf8(folder.read(FILE)).unwrap().contains("descent-fast"));
}

#[test]
fn what_can_not_be_waived_is_not_accepted() {
    let folder = Folder::new(&[("date.plan.kdl", DATE)]);
    let ran = accepted(&folder, &[]);
    assert!(ran.code == Some(1) && ran.err.contains("0 accepted findings"), "{ran:?}");
    assert!(!folder.path(FILE).exists());
    // Nor does it help to write it in by hand.
    let entry = r#"{"path":"date.plan.kdl","names":[],"text":"plan \"Shelf\" on=2027-05-15 status=draft","rule":"syntax","numbers":"2027 05 15","level":"error","count":9}"#;
    folder.write(FILE, format!("{{\"version\":1,\"accepted\":[{entry}]}}"));
    let said = json(&folder, &[]);
    assert_eq!(found(&said), [("syntax".to_owned(), false)]);
    assert_eq!(said["gone"][0]["count"], 9);
}

#[test]
fn a_graver_finding_is_not_covered() {
    let folder = Folder::new(&[("old.plan.kdl", OLD)]);
    accepted(&folder, &[]);
    folder.write("leadsman.kdl", "level \"descent-fast\" error\n");
    let standing: Vec<String> =
        found(&json(&folder, &[])).into_iter().filter(|(_, accepted)| !accepted).map(|(rule, _)| rule).collect();
    assert_eq!(standing, ["descent-fast"]);
}

/// What was accepted of a dive is not accepted of a deeper one, though its own node is the same.
#[test]
fn other_numbers_are_another_finding() {
    let plan = |depth: u32| {
        let legs = format!(
            "limits {{ depth 10; }}\n    dive \"morning\" {{\n        descend {depth}\n        ascend\n        diver \"Rowan\" back=\"S12-04\"\n    }}"
        );
        let kit = "cylinder \"S12-04\" size=12 working=232 { fill 200 on=\"2027-05-14\" by=\"Ines\" o2=40 analysed=40; }\ndiver \"Rowan\"\n";
        format!("plan \"Shelf\" on=\"2027-05-15\" status=draft {{\n    {legs}\n}}\n{kit}")
    };
    let folder = Folder::new(&[("a.plan.kdl", &plan(26))]);
    let deep = |said: &Value| found(said).into_iter().find(|(rule, _)| rule == "mod-exceeded").unwrap().1;
    assert!(!deep(&json(&folder, &[])));
    accepted(&folder, &[]);
    assert!(deep(&json(&folder, &[])));
    folder.write("a.plan.kdl", plan(28));
    assert!(!deep(&json(&folder, &[])));
}

#[test]
fn what_is_said_of_other_files_stays() {
    let folder = Folder::new(&[("a.plan.kdl", OLD), ("b.plan.kdl", OLD)]);
    accepted(&folder, &[]);
    let whole = folder.read(FILE);
    folder.write("a.plan.kdl", OLD.replace("rate=30", "rate=18"));
    accepted(&folder, &["a.plan.kdl"]);
    let text = String::from_utf8(folder.read(FILE)).unwrap();
    let fast = |name: &str| text.lines().any(|line| line.contains(name) && line.contains("descent-fast"));
    assert!(!fast("a.plan.kdl") && fast("b.plan.kdl"), "{text}");
    // What is gone is told of what was looked at alone.
    folder.write(FILE, &whole);
    assert!(json(&folder, &["b.plan.kdl"]).get("gone").is_none());
    assert_eq!(json(&folder, &["a.plan.kdl"])["gone"].as_array().unwrap().len(), 1);
    std::fs::remove_file(folder.path("b.plan.kdl")).unwrap();
    let gone = json(&folder, &[])["gone"].as_array().unwrap().len();
    assert!(gone > 1, "{gone}: a file that is no more is told of when all is looked at");
}

#[test]
fn a_file_that_does_not_read_is_said_and_left() {
    let folder = Folder::new(&[("old.plan.kdl", OLD)]);
    folder.write(FILE, "{ no json");
    for args in [&["check"][..], &["check", "--accept"]] {
        let ran = folder.run(args);
        assert!(ran.code == Some(2) && (ran.out + &ran.err).contains(FILE), "{args:?}");
    }
    assert_eq!(folder.read(FILE), b"{ no json");
}

/// What earlier runs found is told as it was accepted since.
#[test]
fn a_cache_does_not_hide_what_was_accepted_since() {
    let folder = Folder::new(&[("old.plan.kdl", OLD)]);
    let fresh = |folder: &Folder| folder.run(&["check", "--no-cache"]).out;
    folder.run(&["check"]);
    accepted(&folder, &[]);
    assert_eq!(folder.run(&["check"]).out, fresh(&folder));
    std::fs::remove_file(folder.path(FILE)).unwrap();
    assert_eq!(folder.run(&["check"]).out, fresh(&folder));
}

/// The entries of the file of accepted findings.
fn entries(folder: &Folder) -> Vec<Value> {
    let file: Value = serde_json::from_slice(&folder.read(FILE)).unwrap();
    assert_eq!(file["version"], 2);
    file["accepted"].as_array().unwrap().clone()
}

/// A file as the first version wrote it: findings known by the numbers of their sentences.
fn first_version(entries: &[Value], numbers: &str, count: usize) -> String {
    let old = entries.iter().map(|entry| {
        let mut entry = entry.clone();
        let entry_of = entry.as_object_mut().unwrap();
        entry_of.remove("data");
        entry_of.insert("numbers".to_owned(), numbers.into());
        entry_of.insert("count".to_owned(), count.into());
        entry
    });
    serde_json::json!({ "version": 1, "accepted": old.collect::<Vec<_>>() }).to_string()
}

#[test]
fn what_is_accepted_is_known_by_its_values() {
    let folder = Folder::new(&[("old.plan.kdl", OLD)]);
    accepted(&folder, &[]);
    let entries = entries(&folder);
    let fast = entries.iter().find(|entry| entry["rule"] == "descent-fast").unwrap();
    assert_eq!(fast["data"], serde_json::json!({ "rate": 30, "fastest": 20, "word": "down" }));
    // The same values are in what other programs read, whatever the sentence is.
    let said = json(&folder, &[]);
    let files = said["files"].as_array().unwrap().iter();
    let found: Vec<&Value> = files.flat_map(|file| file["findings"].as_array().unwrap()).collect();
    assert!(found.iter().any(|finding| finding["data"] == fast["data"]), "{said}");
    assert!(found.iter().all(|finding| finding["data"].is_object()), "{said}");
}

#[test]
fn a_file_of_the_first_version_holds_until_it_is_accepted_anew() {
    let folder = Folder::new(&[("old.plan.kdl", OLD)]);
    accepted(&folder, &[]);
    let fast: Vec<Value> = entries(&folder).into_iter().filter(|entry| entry["rule"] == "descent-fast").collect();
    let old = first_version(&fast, "30 20", 1);
    folder.write(FILE, &old);
    let said = json(&folder, &[]);
    assert!(found(&said).contains(&("descent-fast".to_owned(), true)), "{said}");
    assert!(said.get("gone").is_none() && said.get("unclear").is_none(), "{said}");
    assert_eq!(folder.read(FILE), old.as_bytes(), "nothing but `--accept` rewrites it");
    accepted(&folder, &[]);
    assert!(entries(&folder).iter().all(|entry| entry["data"].is_object() && entry.get("numbers").is_none()));
    // Other numbers are another finding, as they were.
    folder.write(FILE, first_version(&fast, "31 20", 1));
    let said = json(&folder, &[]);
    assert!(found(&said).contains(&("descent-fast".to_owned(), false)), "{said}");
    assert_eq!(said["gone"][0]["numbers"], "31 20");
}

#[test]
fn what_was_not_looked_at_keeps_its_old_entry() {
    let folder = Folder::new(&[("a.plan.kdl", OLD), ("b.plan.kdl", OLD)]);
    accepted(&folder, &[]);
    let fast: Vec<Value> = entries(&folder).into_iter().filter(|entry| entry["rule"] == "descent-fast").collect();
    folder.write(FILE, first_version(&fast, "30 20", 1));
    accepted(&folder, &["a.plan.kdl"]);
    let now = entries(&folder);
    let of = |path: &str| now.iter().find(|one| one["path"] == path && one["rule"] == "descent-fast").unwrap().clone();
    assert!(of("a.plan.kdl")["data"].is_object() && of("b.plan.kdl")["numbers"] == "30 20", "{now:?}");
    assert!(found(&json(&folder, &["b.plan.kdl"])).contains(&("descent-fast".to_owned(), true)));
}

/// Four troubles of one dive have the same numbers: an old entry of one of them can't tell which it is.
#[test]
fn an_old_entry_that_fits_several_findings_covers_none() {
    let plan = include_str!("../rules/contingency-uncovered/bad-breathless-and-with-a-buddy.plan.kdl");
    let folder = Folder::new(&[("a.plan.kdl", plan)]);
    accepted(&folder, &[]);
    let alike: Vec<Value> = entries(&folder)
        .into_iter()
        .filter(|entry| entry["data"]["lacks"] == 30 && entry["data"]["trouble"] == "constant-feed-shut")
        .collect();
    assert_eq!(alike.len(), 1);
    let covered = |said: &Value| {
        let findings = said["files"][0]["findings"].as_array().unwrap().iter();
        findings.filter(|found| found["data"]["lacks"] == 30 && found["accepted"] == true).count()
    };
    folder.write(FILE, first_version(&alike, "31 26 30", 1));
    let said = json(&folder, &[]);
    assert_eq!(covered(&said), 0, "{said}");
    assert_eq!((said["unclear"][0]["count"].as_u64(), said.get("gone")), (Some(1), None), "{said}");
    let ran = folder.run(&["check"]).joined();
    let told =
        "1 accepted finding is unclear: `leadsman check --accept` accepts anew what more than one finding now fits";
    assert!(ran.contains(told) && ran.contains("unclear: a.plan.kdl: contingency-uncovered at plan"), "{ran}");
    // All of them were accepted: then it is certain.
    folder.write(FILE, first_version(&alike, "31 26 30", 4));
    let said = json(&folder, &[]);
    assert_eq!((covered(&said), said.get("unclear")), (4, None), "{said}");
}
