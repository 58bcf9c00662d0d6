//! What stands behind a leg, and under the pointer on it.

use serde_json::{Value, json};

use super::client::{Client, uri};

const ADDRESS: &str = "untitled:Gr%C3%BCner%20Grund.plan.kdl";

/// Water and surface pressure are round numbers, so that the figures can be worked out by hand.
const PLAN: &str = r#"unit "fen-3" kind=semi-closed {
    loop 5
    feed constant=5 controlled=19
    make-up yes
    floor o2=22
    mouthpiece open-circuit=supply
    bed "c-31"
}
canister "c-31" { rated minutes=200 co2=1.6 temperature=4; used 5 on="2027-05-14"; }
cylinder "S12-04" size=12 { fill 205 on="2027-05-14" o2=36; }
cylinder "S12-09" size=12 { fill 200 on="2027-05-14" o2=36; }
diver "Rowan" { gas rest=16 peak=60; oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0; }
diver "Zoë" { gas rest=16 peak=60; oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0; }
plan "Grüner Grund" on="2027-05-15" {
    site surface=1.0 temperature=20
    dive "eins" {
        /* 🌊 größer */ descend 30 rate=15 work=light
        stay 20 work=light // bis hier
        set-point 30
        ascend
        diver "Rowan" unit="fen-3" supply="S12-04" set-point=26
        diver "Zoë" unit="fen-3" supply="S12-09" set-point=26
    }
}
"#;

fn greeted(encodings: &Value) -> Client {
    let mut client = Client::of_binary();
    let can = client.greet(json!({ "general": { "positionEncodings": encodings } }));
    assert_eq!(can["inlayHintProvider"], true);
    client
}

fn hints(client: &mut Client, lines: std::ops::Range<u32>) -> Vec<Value> {
    let range =
        json!({ "start": { "line": lines.start, "character": 0 }, "end": { "line": lines.end, "character": 0 } });
    let asked = json!({ "textDocument": { "uri": ADDRESS }, "range": range });
    client.answer("textDocument/inlayHint", asked)["result"].as_array().expect("a list").clone()
}

fn label(hint: &Value) -> &str {
    hint["label"].as_str().expect("text")
}

fn line_of(what: &str) -> u32 {
    let at = PLAN.find(what).expect("there");
    PLAN[..at].matches('\n').count() as u32
}

/// 30 m at 15 m/min are two minutes. On the way down 5 free litres at 26 % become 20, filled up with the supply and less
/// what the body takes: N0 = 5·(1 − 0.0533)·0.95442 = 4.518 and k = 5·0.95442·3/2 = 7.158: (4.518·0.26 + 2·((7.158 + 1.08744)·0.36 − 1.08744))/18.834 =
/// 26.21 %, at 4 bar 1.048. The set-point of 26 % is
/// 1.04 bar at 4 bar, that of 30 % 0.3 at the surface.
#[test]
fn behind_each_leg_stands_what_the_divers_have_there() {
    for (encodings, width) in [(json!(["utf-16"]), 1 + 1), (json!(["utf-8"]), 4 + 3), (json!(["utf-32"]), 1)] {
        let mut client = greeted(&encodings);
        client.open(ADDRESS, 1, PLAN);
        let all = hints(&mut client, 0..99);
        assert_eq!(all.len(), 6, "{all:#?}");
        let labels: Vec<&str> = all.iter().map(label).collect();
        // Behind each diver stands the turn.
        assert!(
            labels[4].starts_with("turn at ")
                && labels[5].ends_with(" min: later the bailout ascent takes all that is left"),
            "{labels:#?}"
        );
        assert!(labels[0].starts_with("2:00 · 26 %, PO2 1.05 bar · Rowan 1"), "{labels:#?}");
        assert!(labels[1].starts_with("22:00 · 26 %, PO2 1.04 bar · Rowan 1"), "{labels:#?}");
        assert!(labels[3].starts_with("25:20, straight up, no gradient · 30 %, PO2 0.30 bar · "), "{labels:#?}");
        // The hint stands right behind the leg, whatever stands before it on its line.
        let descend = line_of("descend 30");
        let before = PLAN.lines().nth(descend as usize).expect("there");
        let ascii = before.chars().filter(char::is_ascii).count();
        let odd: usize = match encodings[0].as_str() {
            Some("utf-8") => before.chars().filter(|c| !c.is_ascii()).map(char::len_utf8).sum(),
            Some("utf-16") => before.chars().filter(|c| !c.is_ascii()).map(char::len_utf16).sum(),
            _ => before.chars().filter(|c| !c.is_ascii()).count(),
        };
        assert!(odd > width, "there is something to count");
        assert_eq!(all[0]["position"], json!({ "line": descend, "character": ascii + odd }));
        assert!(all[0]["tooltip"].as_str().expect("text").contains("Planning aid that may be wrong"));
        assert_eq!(client.leave(), 0);
    }
}

#[test]
fn hints_follow_the_text_and_the_range() {
    let mut client = greeted(&json!(["utf-16"]));
    client.open(ADDRESS, 1, PLAN);
    let stay = line_of("stay 20");
    let before = hints(&mut client, stay..stay + 1);
    assert_eq!(before.len(), 1, "{before:#?}");
    let gas = |hint: &Value| -> Vec<f64> {
        let last = label(hint).rsplit(" · ").next().expect("parts").to_owned();
        last.split(|c: char| !c.is_ascii_digit()).filter_map(|digits| digits.parse().ok()).collect()
    };
    let text = PLAN.replace("stay 20", "stay 25");
    client.change(ADDRESS, 2, &json!([{ "text": text }]));
    let after = hints(&mut client, stay..stay + 1);
    assert!(label(&after[0]).starts_with("27:00 · "), "{after:#?}");
    // Rowan's cylinder was fuller, and five minutes more leave less in both.
    let (before, after) = (gas(&before[0]), gas(&after[0]));
    assert!(before[0] > before[1] && after[0] < before[0] && after[1] < before[1], "{before:?} {after:?}");
    // Two free litres a minute hold 26 % at light work: V(1 − F)/(Fs − F) = 1.08744·0.74/0.10 = 8.05; 12 litres a bar.
    let fewer = (before[0] - after[0]) * 12.0;
    assert!((fewer - 5.0 * 8.05).abs() < 15.0, "{fewer} litres");
    // A plan that is being typed has no hints where nothing can be known, and they come back.
    client.change(ADDRESS, 3, &json!([{ "text": PLAN.replace("stay 20", "stay") }]));
    assert_eq!(hints(&mut client, 0..99), Vec::<Value>::new());
    client.change(ADDRESS, 4, &json!([{ "text": PLAN }]));
    assert_eq!(hints(&mut client, 0..99).len(), 6);
    assert_eq!(client.leave(), 0);
}

#[test]
fn on_a_leg_the_pointer_finds_the_figures_with_their_working() {
    let mut client = greeted(&json!(["utf-16"]));
    client.open(ADDRESS, 1, PLAN);
    let mut hover = |what: &str| {
        let line = PLAN.lines().nth(line_of(what) as usize).expect("there");
        let character = line[..line.find(what).expect("there")].encode_utf16().count() + 1;
        let at = json!({ "textDocument": { "uri": ADDRESS }, "position": { "line": line_of(what), "character": character } });
        client.answer("textDocument/hover", at)["result"].clone()
    };
    let page = hover("descend 30");
    let text = page["contents"]["value"].as_str().expect("text");
    for says in [
        "Rowan, run time: **2:00**",
        "Zoë, loop oxygen and PO2: **26 %, PO2 1.05 bar**",
        // 0.74·4/0.79 bar is air at 27.5 m.
        "Zoë, as on air: **END 30 m, EAD 28 m**",
        "1.0000 + 0.10000·30.00 → 4.0000 bar",
        "N0 4.52 free L, t 2.000 min → 26.211 %",
        "bar of \"S12-09\"",
        "min left of the first canister",
        "Down to a depth.",
        "Planning aid that may be wrong",
    ] {
        assert!(text.contains(says), "no {says:?} in {text}");
    }
    // The word itself is what is marked.
    let start = page["range"]["start"]["character"].as_u64().expect("a number");
    assert_eq!(page["range"]["end"]["character"], start + 7);
    assert!(hover("on=\"2027-05-15\" {")["contents"]["value"].as_str().is_none_or(|text| !text.contains("run time")));
    assert_eq!(client.leave(), 0);
}

#[test]
fn on_a_leg_that_can_t_be_run_the_pointer_finds_what_lacks() {
    let mut client = greeted(&json!(["utf-8"]));
    client.open(ADDRESS, 1, &PLAN.replace("    make-up yes\n", ""));
    let line = line_of("stay 20") - 1;
    let at = json!({ "textDocument": { "uri": ADDRESS }, "position": { "line": line, "character": 10 } });
    let page = client.answer("textDocument/hover", at)["result"].clone();
    let text = page["contents"]["value"].as_str().expect("text");
    assert!(text.contains("Rowan: **not worked out for want of \\`make-up\\` of unit \"fen-3\"**"), "{text}");
    assert_eq!(hints(&mut client, 0..99), Vec::<Value>::new());
    assert_eq!(client.leave(), 0);
}

#[test]
fn on_a_cylinder_and_a_unit_stands_what_the_dive_leaves() {
    let mut client = greeted(&json!(["utf-16"]));
    client.open(ADDRESS, 1, PLAN);
    let line = PLAN.lines().position(|line| line.contains("diver \"Zoë\" unit")).expect("there");
    let mut hover = |what: &str| {
        let text = PLAN.lines().nth(line).expect("there");
        let character = text[..text.find(what).expect("there")].encode_utf16().count() + 2;
        let at = json!({ "textDocument": { "uri": ADDRESS }, "position": { "line": line, "character": character } });
        let page = client.answer("textDocument/hover", at)["result"].clone();
        page["contents"]["value"].as_str().expect("text").to_owned()
    };
    let cylinder = hover("S12-09");
    assert!(cylinder.contains("- Left when the dive ends: **"), "{cylinder}");
    // Every litre used is accounted for.
    let used = cylinder.lines().find(|line| line.contains("used, with the constant feed")).expect("a step");
    let (parts, total) = used.split_once(": ").expect("a step").1.split_once(" → ").expect("a result");
    for purpose in ["pre-breathe ", "feed ", "make-up ", "suit and wing "] {
        assert!(parts.contains(purpose), "{used}");
    }
    let number = |text: &str| -> f64 { text.rsplit(' ').next().expect("a number").parse().expect("a number") };
    let sum: f64 = parts.split(" + ").map(number).sum();
    assert!((sum - number(total.trim_end_matches(" free L"))).abs() < 0.25, "{used}");
    // 128.33 minutes were left: two thirds of rated 200, 5 used. The dive takes 5 of pre-breathe and 2 + 20 + 10/3, each at
    // 1.0 L/min or less of a canister rated at 1.6.
    let unit = hover("fen-3");
    let left = 400.0 / 3.0 - 5.0 - 5.0 - 22.0 - 10.0 / 3.0;
    assert!(unit.contains(&format!("→ {left:.2} min")), "no {left:.2} in {unit}");
    assert_eq!(client.leave(), 0);
}

/// The kit changes in one document, and the hints of the plan in another with it.
#[test]
fn a_change_of_the_kit_has_the_client_ask_for_hints_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = std::fs::canonicalize(folder.path()).expect("there");
    std::fs::write(root.join("leadsman.kdl"), "").expect("written");
    let split = PLAN.find("plan \"").expect("there");
    let (kit, plan) = (PLAN[..split].to_owned(), format!("use \"a.kit.kdl\"\n{}", &PLAN[split..]));
    let (kit_at, plan_at) = (root.join("a.kit.kdl"), root.join("a.plan.kdl"));
    std::fs::write(&kit_at, &kit).expect("written");
    std::fs::write(&plan_at, &plan).expect("written");
    let (kit_at, plan_at) = (uri(&kit_at), uri(&plan_at));
    let mut client = Client::of_binary();
    client.greet(json!({ "workspace": { "inlayHint": { "refreshSupport": true } } }));
    client.open(&plan_at, 1, &plan);
    client.open(&kit_at, 1, &kit);
    let whole = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    let asked = json!({ "textDocument": { "uri": plan_at }, "range": whole });
    let before = client.answer("textDocument/inlayHint", asked.clone())["result"].clone();
    assert_eq!(before.as_array().expect("a list").len(), 6);
    client.change(&kit_at, 2, &json!([{ "text": kit.replace("fill 205", "fill 150") }]));
    client.wait("a refresh of hints", |message| message["method"] == "workspace/inlayHint/refresh");
    let after = client.answer("textDocument/inlayHint", asked)["result"].clone();
    assert_ne!(before, after);
    assert_eq!(client.leave(), 0);
}

/// With a gradient the way home is a schedule: under the pointer each stop, and what it would be with the loop at its
/// floor; on a leg the time left without stops.
#[test]
fn on_the_way_home_the_pointer_finds_its_stops() {
    let mut client = greeted(&json!(["utf-16"]));
    let text =
        PLAN.replace("    dive ", "    limits { gradient low=30 high=70; }\n    dive ").replace("stay 20", "stay 40");
    client.open(ADDRESS, 1, &text);
    let mut hover = |what: &str| {
        let line = text.lines().position(|line| line.contains(what)).expect("there");
        let before = text.lines().nth(line).expect("there");
        let character = before[..before.find(what).expect("there")].encode_utf16().count() + 1;
        let at = json!({ "textDocument": { "uri": ADDRESS }, "position": { "line": line, "character": character } });
        let page = client.answer("textDocument/hover", at)["result"].clone();
        page["contents"]["value"].as_str().expect("text").to_owned()
    };
    let home = hover("ascend");
    assert!(home.contains("Rowan, way home: **stops ") && home.contains("3 m"), "{home}");
    assert!(home.contains("stop at 3 m on the loop") && home.contains("gradient "), "{home}");
    assert!(home.contains("with the loop at its floor all dive: **"), "{home}");
    assert!(hover("descend 30").contains("decompression: **"), "on a leg");
    let all = hints(&mut client, 0..99);
    assert!(all.iter().any(|hint| label(hint).contains(", stops ")), "{all:#?}");
    assert_eq!(client.leave(), 0);
}

/// Written into the plan the stops make the same dive: on a loop, and on open circuit with its change of gas.
#[test]
fn worked_out_stops_are_written_and_make_the_same_dive() {
    let on_a_loop = PLAN
        .replace("    dive ", "    limits { gradient low=30 high=70; }\n    dive ")
        .replace("stay 20", "stay 40")
        .replace("        ascend\n", "        ascend rate=8 // home\n");
    let open = "cylinder \"D12\" size=24 { fill 230 on=\"2027-05-14\" o2=21 he=35; }\n\
        cylinder \"S7\" size=7 { fill 200 on=\"2027-05-14\" o2=50; }\n\
        diver \"Rowan\" { gas rest=14 peak=50; }\n\
        plan \"Grund\" on=\"2027-05-15\" {\n    limits { gradient low=30 high=80; }\n    dive \"eins\" {\n        \
        descend 45 rate=18\n        stay 20 work=light\n        ascend\n        \
        diver \"Rowan\" back=\"D12\" deco=\"S7\"\n    }\n}\n";
    // Of several cylinders of a role each is said by its name.
    let two = open.replace("deco=\"S7\"", "{ cylinder \"S7\" role=deco; cylinder \"O2\" role=deco; }").replace(
        "diver \"Rowan\" { gas",
        "cylinder \"O2\" size=7 { fill 200 on=\"2027-05-14\" o2=99; }\ndiver \"Rowan\" { gas",
    );
    let (by_role, by_name) = (&["switch deco"][..], &["switch \"S7\"", "switch \"O2\""][..]);
    for (text, switches) in [(on_a_loop.as_str(), &[][..]), (open, by_role), (two.as_str(), by_name)] {
        let mut client = greeted(&json!(["utf-16"]));
        client.open(ADDRESS, 1, text);
        let surfaces = |client: &mut Client| {
            let hints = hints(client, 0..99);
            let home = hints.iter().rfind(|hint| !label(hint).starts_with("turn"));
            label(home.expect("hints")).split([',', ' ']).next().expect("a time").to_owned()
        };
        let before = surfaces(&mut client);
        let line = text.lines().position(|line| line.trim_start().starts_with("ascend")).expect("there");
        let at = json!({ "line": line, "character": 10 });
        let asked = json!({
            "textDocument": { "uri": ADDRESS }, "range": { "start": at, "end": at }, "context": { "diagnostics": [] }
        });
        let actions = client.answer("textDocument/codeAction", asked.clone())["result"].clone();
        let rewrite = actions.as_array().expect("actions").iter().find(|action| action["kind"] == "refactor.rewrite");
        let rewrite = rewrite.unwrap_or_else(|| panic!("none: {actions:#}"));
        let changes = rewrite["edit"]["changes"].as_object().unwrap_or_else(|| panic!("no changes: {rewrite:#}"));
        let edit = &changes.values().next().expect("a file")[0];
        let new = edit["newText"].as_str().expect("text");
        assert!(new.contains("stop 3 minutes=") && new.lines().last().expect("lines").contains("ascend 0"), "{new}");
        assert_eq!(new.matches("switch").count(), switches.len(), "{new}");
        assert!(switches.iter().all(|switch| new.contains(switch)), "{new}");
        client.change(ADDRESS, 2, &json!([{ "range": edit["range"], "text": new }]));
        assert_eq!(surfaces(&mut client), before, "{new}");
        // Once written they are the plan's own, and there is nothing to write.
        let again = client.answer("textDocument/codeAction", asked)["result"].clone();
        assert!(again.as_array().expect("actions").iter().all(|action| action["kind"] != "refactor.rewrite"));
        assert_eq!(client.leave(), 0);
    }
}
