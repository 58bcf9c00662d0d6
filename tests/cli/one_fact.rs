//! One fact of the kit that several plans meet.

use serde_json::Value;

use super::Folder;

const KIT: &str = r#"unit "fen-3" kind=semi-closed {
    cell "a" fitted="2027-01-10" made="2025-10-01" life=(months)12 { reading on="2027-05-14" air=10.4 oxygen=49.1; }
}
diver "Rowan"
"#;

fn plan(day: &str, unit: &str) -> String {
    format!(
        "use \"club.kit.kdl\"\nplan \"Shelf\" on=\"{day}\" status=draft {{\n    dive \"one\" {{ descend 9; ascend; diver \"Rowan\" unit=\"{unit}\"; }}\n}}\n"
    )
}

/// File, line, related files, message of each finding of an expired cell.
fn expired(folder: &Folder, args: &[&str]) -> Vec<(String, u64, Vec<String>, String)> {
    let ran = folder.run(&[&["check", "--format=json"], args].concat());
    let said: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"));
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let mut found = Vec::new();
    for file in said["files"].as_array().unwrap() {
        for finding in file["findings"].as_array().unwrap().iter().filter(|finding| finding["rule"] == "cell-expired") {
            let related = finding["related"].as_array().unwrap().iter().map(|related| text(&related["path"])).collect();
            let line = finding["start"]["line"].as_u64().unwrap();
            found.push((text(&file["path"]), line, related, text(&finding["message"])));
        }
    }
    found
}

#[test]
fn it_is_said_once_where_it_stands_with_every_plan_that_meets_it() {
    let folder = Folder::new(&[("club.kit.kdl", KIT)]);
    folder.write("1.plan.kdl", plan("2027-05-15", "fen-3"));
    // One plan: told there.
    let [(file, line, related, _)] = &expired(&folder, &[])[..] else { panic!("one") };
    assert_eq!((&**file, line), ("1.plan.kdl", &3));
    assert!(related.contains(&"club.kit.kdl".to_owned()), "{related:?}");
    folder.write("2.plan.kdl", plan("2027-06-01", "fen-3"));
    folder.write("3.plan.kdl", plan("2027-07-01", "fen-3"));
    folder.write("4.plan.kdl", plan("2027-07-02", "fen-4"));
    let [(file, line, related, message)] = &expired(&folder, &[])[..] else { panic!("one") };
    assert_eq!((&**file, line), ("club.kit.kdl", &2));
    let plans: Vec<&str> = related.iter().map(String::as_str).filter(|file| file.ends_with(".plan.kdl")).collect();
    assert_eq!(plans, ["1.plan.kdl", "2.plan.kdl", "3.plan.kdl"]);
    assert!(message.ends_with("the dive is on 2027-05-15; 2 more files meet it"), "{message}");
    // Asked about one file, that file's.
    let [(file, ..)] = &expired(&folder, &["2.plan.kdl"])[..] else { panic!("one") };
    assert_eq!(file, "2.plan.kdl");
    // Waived in one plan it is another finding there.
    let waived = plan("2027-07-01", "fen-3")
        .replace("dive \"one\"", "allow \"cell-expired\" because=\"a pool\"\n    dive \"one\"");
    folder.write("3.plan.kdl", waived);
    let found = expired(&folder, &[]);
    let files: Vec<&str> = found.iter().map(|(file, ..)| &**file).collect();
    assert_eq!(files, ["3.plan.kdl", "club.kit.kdl"]);
    let ran = folder.run(&["check"]);
    assert!(
        ran.out.contains("1 more file meets it") && ran.out.matches("error: cell \"a\"").count() == 2,
        "{}",
        ran.out
    );
}
