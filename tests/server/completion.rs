//! What may be written at the cursor.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::client::{Client, uri};

const KIT: &str = r#"unit "fen-3" kind=semi-closed {
    loop 5
}
diver "Rowan"
diver "Ines"
cylinder "S12-04" size=12 {
    fill 205 on="2027-05-14" o2=36 analysed=36
}
cylinder "S12-20" size=12 {
    fill 205 on="2027-05-14" o2=50 analysed=50
}
cylinder "S7-14" size=7 {
    fill 200 on="2027-05-14" o2=32 analysed=32
}
"#;

const TEMPLATE: &str = "plan \"The shelf\" status=template {\n    dive \"shelf\" {\n        descend 18\n        stay 20\n        ascend\n    }\n}\n";

/// A client with an archive on disk.
struct Desk {
    folder: tempfile::TempDir,
    client: Client,
    version: i64,
}

impl Desk {
    fn new(snippets: bool) -> Desk {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in [("leadsman.kdl", ""), ("kit.kit.kdl", KIT), ("shelf.plan.kdl", TEMPLATE)] {
            std::fs::write(folder.path().join(name), text).unwrap();
        }
        let mut client = Client::of_binary();
        let item = json!({ "completionItem": { "snippetSupport": snippets } });
        let can = client.greet(json!({ "textDocument": { "completion": item } }));
        assert!(can["completionProvider"].is_object());
        Desk { folder, client, version: 0 }
    }

    /// What is offered at the bar in a text, by its label, each with the text that taking it makes.
    fn offered(&mut self, text: &str) -> BTreeMap<String, (String, Value)> {
        let items = self.items(text);
        let at = text.find('|').unwrap();
        let text = text.replacen('|', "", 1);
        let offset = |position: &Value| {
            let line = position["line"].as_u64().unwrap() as usize;
            let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
            start + position["character"].as_u64().unwrap() as usize
        };
        let take = |item: Value| {
            let edit = &item["textEdit"];
            let (from, to) = (offset(&edit["range"]["start"]), offset(&edit["range"]["end"]));
            assert!(from <= at && at <= to, "{item}");
            let mut taken = text.clone();
            taken.replace_range(from..to, edit["newText"].as_str().unwrap());
            (item["label"].as_str().unwrap().to_owned(), (taken, item))
        };
        items.into_iter().map(take).collect()
    }

    fn items(&mut self, text: &str) -> Vec<Value> {
        let at = text.find('|').unwrap();
        let (before, text) = (&text[..at], text.replacen('|', "", 1));
        let line = before.matches('\n').count();
        let column = at - before.rfind('\n').map_or(0, |end| end + 1);
        let name = format!("{}.plan.kdl", self.version);
        self.version += 1;
        let uri = uri(&std::fs::canonicalize(self.folder.path()).unwrap().join(name));
        self.client.open(&uri, 1, &text);
        let asked = json!({ "textDocument": { "uri": uri }, "position": { "line": line, "character": column } });
        let answer = self.client.answer("textDocument/completion", asked);
        self.client.close(&uri);
        answer["result"].as_array().unwrap_or_else(|| panic!("{answer}")).clone()
    }

    fn labels(&mut self, text: &str) -> Vec<String> {
        self.items(text).iter().map(|item| item["label"].as_str().unwrap().to_owned()).collect()
    }
}

#[test]
fn words_are_those_that_fit() {
    let mut desk = Desk::new(false);
    let legs = desk.offered("plan \"x\" {\n    dive \"one\" {\n        de|\n    }\n}\n");
    assert!(legs.contains_key("descend") && legs.contains_key("ascend") && !legs.contains_key("loop"));
    assert!(legs["descend"].0.contains("        descend\n"), "{:?}", legs["descend"]);
    let top = desk.labels("|\n");
    assert!(
        ["plan", "use", "unit", "allow"].iter().all(|word| top.contains(&(*word).to_owned()))
            && !top.contains(&"level".to_owned())
    );
    // What stands once can't stand again.
    assert!(!desk.labels("plan \"x\" {\n    limits { reserve 50; }\n    |\n}\n").contains(&"limits".to_owned()));
    assert!(desk.labels("// pl|\n").is_empty());
    assert!(desk.labels("nonsense {\n    |\n}\n").is_empty());
}

#[test]
fn values_are_those_that_a_word_takes() {
    let mut desk = Desk::new(false);
    let work = desk.offered("plan \"x\" {\n    dive \"one\" {\n        stay 20 work=|\n    }\n}\n");
    assert_eq!(work.keys().collect::<Vec<_>>(), ["heavy", "light", "moderate", "peak", "rest"]);
    assert!(work["light"].0.contains("stay 20 work=light\n"));
    let props = desk.offered("plan \"x\" {\n    dive \"one\" {\n        descend 20 r|\n    }\n}\n");
    assert!(props["rate"].0.contains("descend 20 rate=\n"), "{props:?}");
    let rest = desk.labels("plan \"x\" on=\"2027-05-15\" |{ }\n");
    assert!(rest.contains(&"status".to_owned()) && !rest.contains(&"on".to_owned()), "{rest:?}");
    let units = desk.offered("plan \"x\" {\n    dive \"one\" {\n        descend (f|)92\n    }\n}\n");
    assert!(units["ft"].0.contains("descend (ft)92"), "{units:?}");
    assert!(desk.labels("plan \"x\" {\n    allow |\n}\n").contains(&"oxygen-clock".to_owned()));
    // A rule that can't be waived is not offered.
    assert!(!desk.labels("plan \"x\" {\n    allow |\n}\n").contains(&"syntax".to_owned()));
}

/// A plan of one dive with a diver of whom it says that.
fn plan(diver: &str) -> String {
    format!(
        "use \"kit.kit.kdl\"\nplan \"x\" on=\"2027-05-15\" {{\n    dive \"one\" {{\n        descend 25\n        stay 20\n        \
         ascend\n        diver \"Rowan\" {diver}\n    }}\n}}\n"
    )
}

#[test]
fn names_are_those_in_sight_and_the_fitting_ones_come_first() {
    let mut desk = Desk::new(false);
    let supply = desk.items(&plan("unit=\"fen-3\" bailout=\"S7-14\" supply=\"|\""));
    let labels: Vec<&str> = supply.iter().map(|item| item["label"].as_str().unwrap()).collect();
    // The free one that may be breathed at 25 m, the taken one, and the one that may not.
    assert_eq!(labels, ["S12-04", "S7-14", "S12-20"], "{supply:?}");
    assert_eq!(supply[0]["detail"], "12 L, 36 % oxygen, 205 bar");
    assert!(supply[2]["detail"].as_str().unwrap().ends_with("not at this depth"));
    let taken = desk.offered(&plan("supply=\"|\""));
    assert!(taken["S12-04"].0.contains("diver \"Rowan\" supply=\"S12-04\"\n"), "{taken:?}");
    assert_eq!(desk.labels(&plan("unit=|")), ["fen-3"]);
    assert_eq!(desk.labels("use \"|\"\n"), ["kit.kit.kdl"]);
    assert_eq!(desk.labels("plan \"x\" from=\"|\"\n"), ["shelf.plan.kdl"]);
    assert!(
        desk.labels("plan \"x\" {\n    dive \"one\" {\n        diver \"|\"\n    }\n}\n").is_empty(),
        "none in sight"
    );
}

#[test]
fn what_a_plan_leaves_open_comes_first() {
    let open = "use \"kit.kit.kdl\"\nplan \"x\" on=\"2027-05-15\" from=\"shelf.plan.kdl\" {\n    |\n}\n";
    let in_dive = "use \"kit.kit.kdl\"\nplan \"x\" on=\"2027-05-15\" from=\"shelf.plan.kdl\" {\n    dive \"shelf\" {\n        |\n    }\n}\n";
    let mut desk = Desk::new(true);
    let first = desk.items(open)[0].clone();
    assert_eq!(
        (first["label"].as_str(), first["detail"].as_str()),
        (Some("site"), Some("still to be said")),
        "{first}"
    );
    let items = desk.items(in_dive);
    let diver = &items[0];
    assert_eq!(diver["insertTextFormat"], 2);
    assert_eq!(diver["textEdit"]["newText"], "diver \"$1\" unit=\"$2\" supply=\"$3\" bailout=\"$4\" set-point=${5:26}");
    assert!(diver["documentation"]["value"].as_str().unwrap().contains("has no diver"), "{diver}");
    // The legs are the template's, so they are no gap.
    assert!(items.iter().filter(|item| item["detail"] == "still to be said").count() == 1);
    // Without snippets a word is a word.
    let plain = Desk::new(false).items(in_dive);
    assert!(plain[0]["textEdit"]["newText"] == "diver" && plain[0]["insertTextFormat"].is_null(), "{}", plain[0]);
}

#[test]
fn what_stands_there_already_is_left() {
    let mut desk = Desk::new(false);
    let mut taken = |diver: &str, label: &str| {
        let offered = desk.offered(&plan(diver));
        let (text, _) = offered.get(label).unwrap_or_else(|| panic!("{diver}: {:?}", offered.keys()));
        let line = text.lines().find(|line| line.contains("diver \"Rowan\"")).unwrap();
        line.trim().trim_start_matches("diver \"Rowan\" ").to_owned()
    };
    // At a key's first byte, in a blank, behind a `=` before another property, in quotes that are not closed yet.
    assert_eq!(taken("|supply=\"S12-04\"", "deco"), "deco=\"\" supply=\"S12-04\"");
    assert_eq!(taken("unit=\"fen-3\" | supply=\"S12-04\"", "deco"), "unit=\"fen-3\" deco=\"\" supply=\"S12-04\"");
    assert_eq!(taken("unit=| supply=\"S12-04\"", "fen-3"), "unit=\"fen-3\" supply=\"S12-04\"");
    assert_eq!(taken("unit=\"fe| supply=\"S12-04\"", "fen-3"), "unit=\"fen-3\" supply=\"S12-04\"");
    assert_eq!(taken("supply=\"S1|", "S12-04"), "supply=\"S12-04\"");
    assert_eq!(taken("supply=\"S1|2-09\" deco=\"S7-14\"", "S12-04"), "supply=\"S12-04\" deco=\"S7-14\"");
    // A parenthesis opens the units of what it stands before, closed or not.
    let text = |legs: &str| format!("plan \"x\" {{\n    dive \"one\" {{\n        {legs}\n    }}\n}}\n");
    assert!(desk.offered(&text("descend (|"))["ft"].0.contains("descend (ft)\n"));
    assert!(desk.offered(&text("descend 20 rate=(|"))["ft"].0.contains("rate=(ft)\n"));
    assert!(desk.offered(&text("descend (f|t)92"))["ft"].0.contains("descend (ft)92"));
    // Each is found by what is typed, quotes aside.
    let items = desk.items(&plan("supply=\"|\""));
    assert!(items.iter().all(|item| item["filterText"].as_str().is_some()), "{items:?}");
}

/// Values of every property and argument of a text, by where they stand.
fn values(text: &str) -> Vec<String> {
    let tree = leadsman::syntax::Tree::parse(text);
    tree.nodes()
        .flat_map(|node| {
            let name = tree.name(node).text.to_string();
            let said = tree.entries(node).map(move |entry| {
                let key = entry.key.as_ref().map(|key| key.text.to_string());
                format!("{name} {key:?} {}", &text[entry.value_span.range()])
            });
            said.collect::<Vec<_>>()
        })
        .collect()
}

/// Whatever is taken, wherever: no other value of the file changes. One may be written anew, and one may come.
#[test]
fn nothing_else_changes_wherever_an_item_is_taken() {
    let mut desk = Desk::new(false);
    let plan = "use \"kit.kit.kdl\"\n\nplan \"x\" on=\"2027-05-15\" status=draft {\n    site \"Greyfen quarry\" water=fresh altitude=210\n    \
                dive \"one\" at=\"09:40\" {\n        descend 25 rate=15   // down\n        stay 20 work=light\n        switch deco\n        \
                ascend\n        diver \"Rowan\" unit=\"fen-3\" supply=\"S12-04\" bailout=\"S7-14\" set-point=26\n    }\n}\n";
    let before = values(plan);
    for at in 0..=plan.len() {
        let asked = format!("{}|{}", &plan[..at], &plan[at..]);
        for (label, (after, _)) in desk.offered(&asked) {
            let after = values(&after);
            let mut left: Vec<&String> = after.iter().collect();
            let gone: Vec<&String> = before
                .iter()
                .filter(|value| left.iter().position(|other| other == value).map(|at| left.remove(at)).is_none())
                .collect();
            // A property under another key, and a word under another name, are what is being written.
            let of_word = |value: &str| value.split(' ').next().unwrap_or_default().to_owned();
            let is_renamed = |value: &&String| {
                let end = value.rsplit(' ').next().unwrap_or_default().to_owned();
                left.iter().any(|other| other.ends_with(&end))
            };
            let others = gone.iter().filter(|value| !is_renamed(value)).count();
            assert!(
                others <= 1,
                "{label} at {asked}: {gone:?} {left:?} {:?}",
                gone.first().map(|value| of_word(value))
            );
        }
    }
}
