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

#[test]
fn names_are_those_in_sight_and_the_fitting_ones_come_first() {
    let mut desk = Desk::new(false);
    let plan = |diver: &str| {
        format!(
            "use \"kit.kit.kdl\"\nplan \"x\" on=\"2027-05-15\" {{\n    dive \"one\" {{\n        descend 25\n        stay 20\n        \
             ascend\n        diver \"Rowan\" {diver}\n    }}\n}}\n"
        )
    };
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
