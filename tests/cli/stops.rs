//! The tables that a dive is planned by.

use std::collections::BTreeMap;
use std::path::Path;

use leadsman::CAUTION;
use serde_json::Value;

use super::{Folder, Ran, is_honest, leadsman};
use crate::pages::json::fits;

fn stops(folder: &Path, args: &[&str]) -> Ran {
    Ran::of(leadsman(folder).arg("stops").args(args).output().unwrap())
}

fn json(folder: &Path, args: &[&str]) -> Value {
    let ran = stops(folder, &[args, &["--format", "json"]].concat());
    assert_eq!((ran.code, &*ran.err), (Some(0), ""), "{ran:?}");
    let page: Value = serde_json::from_str(&ran.out).unwrap();
    fits(&page, "stops");
    assert_eq!(page["caution"], CAUTION);
    page
}

fn examples() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")
}

fn list<'v>(value: &'v Value, what: &str) -> &'v Vec<Value> {
    value[what].as_array().unwrap()
}

fn number(value: &Value, what: &str) -> f64 {
    value[what].as_f64().unwrap()
}

/// An open-circuit dive to 45 m on trimix with two deco gases and a plan for going over.
const DEEP: &str = r#"plan "Deep" on="2027-05-15" status=draft {
    site "Greyfen quarry" water=fresh altitude=0 temperature=8
    limits { gradient low=35 high=75; reserve 50; overrun depth=3 time=3; }
    dive "one" {
        descend 45 rate=20
        stay 20 work=light
        ascend
        diver "Ines" back="D24-1" { cylinder "S11-1" role=deco; cylinder "S7-2" role=deco; }
    }
}
diver "Ines" { gas rest=15 peak=55; }
cylinder "D24-1" size=24 working=232 { fill 220 on="2027-05-14" o2=21 he=35 analysed=21 analysed-he=35; }
cylinder "S11-1" size=11 working=200 { fill 200 on="2027-05-14" o2=50 analysed=50; }
cylinder "S7-2" size=7 working=200 { fill 180 on="2027-05-14" o2=100 analysed=100; }
"#;

#[test]
fn rows_add_up_and_agree_with_the_track() {
    for plan in ["plans/saturday.plan.kdl", "plans/guest.plan.kdl"] {
        let page = json(&examples(), &[plan]);
        let ran = Ran::of(leadsman(examples()).args(["track", "--format", "json", plan]).output().unwrap());
        let tracks: Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!(list(&page, "dives").len(), list(&tracks, "dives").len());
        for (dive, track) in list(&page, "dives").iter().zip(list(&tracks, "dives")) {
            assert_eq!((&dive["dive"], &dive["diver"]), (&track["dive"], &track["diver"]));
            let planned = &list(dive, "tables")[0];
            assert_eq!((&planned["name"], &planned["from_min"]), (&Value::from("as-planned"), &Value::Null));
            // Stops and changes of gas of one depth are one halt of the track.
            let mut halts: Vec<(f64, f64)> = Vec::new();
            for row in list(planned, "rows").iter().filter(|row| row["why"] == "stop" || row["why"] == "switch") {
                match halts.last_mut() {
                    Some(last) if last.0 == number(row, "depth_m") => last.1 += number(row, "minutes"),
                    _ => halts.push((number(row, "depth_m"), number(row, "minutes"))),
                }
            }
            let worked_out = list(track, "stops").iter().map(|stop| (number(stop, "depth_m"), number(stop, "minutes")));
            let worked_out: Vec<(f64, f64)> = worked_out.collect();
            assert_eq!(halts.len(), worked_out.len(), "{plan}: {halts:?} {worked_out:?}");
            for (row, stop) in halts.iter().zip(&worked_out) {
                assert!((row.0 - stop.0).abs() < 1e-6 && (row.1 - stop.1).abs() < 1e-5, "{plan}: {row:?} {stop:?}");
            }
            let last = list(track, "samples").last().unwrap();
            assert!((number(planned, "surfaces_min") - number(last, "t_s") / 60.0).abs() < 1e-6);
            for table in list(dive, "tables") {
                let mut run = table["from_min"].as_f64().unwrap_or(0.0);
                for row in list(table, "rows") {
                    run += number(row, "minutes");
                    assert!((number(row, "run_min") - run).abs() < 1e-4, "{table:#}");
                    assert!(number(row, "po2_low_bar") <= number(row, "po2_high_bar"));
                    run = number(row, "run_min");
                }
                assert!((number(table, "surfaces_min") - run).abs() < 1e-4, "{table:#}");
                assert_eq!(list(table, "rows").last().unwrap()["depth_m"], 0.0);
            }
        }
    }
}

/// What is taken in the table is what is missing from the cylinders at the end.
#[test]
fn litres_are_those_that_leave_the_cylinders() {
    let plan = "plans/saturday.plan.kdl";
    let page = json(&examples(), &[plan]);
    let ran = Ran::of(leadsman(examples()).args(["track", "--every", "1", "--format", "json", plan]).output().unwrap());
    let tracks: Value = serde_json::from_str(&ran.out).unwrap();
    for (dive, track) in list(&page, "dives").iter().zip(list(&tracks, "dives")) {
        let samples = list(track, "samples");
        let left = |sample: &Value| -> f64 {
            sample["cylinders"].as_object().unwrap().values().map(|content| number(content, "litres")).sum()
        };
        // The last second at the surface: what leaving it takes belongs to the dive.
        let leaving = samples.iter().rfind(|sample| number(sample, "t_s") < 0.0).unwrap_or(&samples[0]);
        // Without a pre-breathe the first sample is of after that: of what fills suit and wing.
        let at_once = if number(leaving, "t_s") < 0.0 { 0.5 } else { 6.0 };
        let taken: f64 = list(&list(dive, "tables")[0], "rows").iter().map(|row| number(row, "litres")).sum();
        assert!((taken - (left(leaving) - left(samples.last().unwrap()))).abs() < at_once, "{taken} {}", dive["diver"]);
    }
}

#[test]
fn each_way_that_the_dive_may_go_has_a_table() {
    let folder = Folder::new(&[("deep.plan.kdl", DEEP)]);
    let page = json(folder.root(), &["deep.plan.kdl"]);
    let dive = &list(&page, "dives")[0];
    assert_eq!((&dive["unit"], &dive["stops_worked_out"]), (&Value::Null, &Value::from(true)));
    let tables: BTreeMap<&str, &Value> =
        list(dive, "tables").iter().map(|table| (table["name"].as_str().unwrap(), table)).collect();
    let names: Vec<&str> = tables.keys().copied().collect();
    let wanted =
        ["as-planned", "off-loop", "overrun-both", "overrun-depth", "overrun-time", "without:S11-1", "without:S7-2"];
    assert_eq!(names, wanted);
    let breathed = |name: &str| -> Vec<(&str, &str)> {
        let rows = list(tables[name], "rows");
        rows.iter().map(|row| (row["breathing"].as_str().unwrap(), row["mix"].as_str().unwrap())).collect()
    };
    assert!(breathed("as-planned").contains(&("D24-1", "21/35")));
    assert!(
        breathed("as-planned").contains(&("S11-1", "50 %")) && breathed("as-planned").contains(&("S7-2", "oxygen"))
    );
    assert!(!breathed("without:S11-1").iter().any(|(name, _)| *name == "S11-1"));
    assert!(breathed("without:S11-1").iter().any(|(name, _)| *name == "S7-2"));
    let whys = |name: &str| -> Vec<&str> {
        list(tables[name], "rows").iter().map(|row| row["why"].as_str().unwrap()).collect()
    };
    assert_eq!(whys("as-planned")[..2], ["descend", "stay"]);
    assert_eq!(whys("off-loop")[0], "bail-out", "there is no loop to get off");
    // Deeper, longer and both take longer than the plan, and both longest.
    let surfaces = |name: &str| number(tables[name], "surfaces_min");
    assert!(surfaces("as-planned") < surfaces("overrun-depth").min(surfaces("overrun-time")));
    assert!(surfaces("overrun-depth").max(surfaces("overrun-time")) < surfaces("overrun-both"));
    let greatest = |name: &str| list(tables[name], "rows").iter().map(|row| number(row, "depth_m")).fold(0.0, f64::max);
    assert_eq!([greatest("as-planned"), greatest("overrun-depth"), greatest("overrun-time")], [45.0, 48.0, 45.0]);
}

#[test]
fn people_read_it_at_any_width_and_spreadsheets_too() {
    let folder = Folder::new(&[("deep.plan.kdl", DEEP)]);
    let ran = stops(folder.root(), &["deep.plan.kdl"]);
    assert_eq!((ran.code, &*ran.err), (Some(0), ""));
    is_honest(&ran);
    for said in [
        "dive \"one\", diver \"Ines\", open circuit",
        "bailing out at",
        "without S7-2",
        "3 m deeper, 3 min longer",
        "21/35",
    ] {
        assert!(ran.out.contains(said), "{said}: {}", ran.out);
    }
    let ran = stops(folder.root(), &["deep.plan.kdl", "--format", "csv"]);
    let (caution, lines) = ran.out.split_once('\n').unwrap();
    assert_eq!(caution, format!("# {CAUTION}"));
    let mut lines = csv::Reader::from_reader(lines.as_bytes());
    let heads = lines.headers().unwrap().clone();
    assert_eq!(heads.len(), 12);
    let page = json(folder.root(), &["deep.plan.kdl"]);
    let rows: usize = list(&list(&page, "dives")[0], "tables").iter().map(|table| list(table, "rows").len()).sum();
    let read: Vec<csv::StringRecord> = lines.records().map(Result::unwrap).collect();
    assert!(read.len() == rows && read.iter().all(|line| line.len() == heads.len()));
    assert_eq!((&read[0][0], &read[0][1], &read[0][2], &read[0][11]), ("one", "Ines", "as-planned", "descend"));
}

#[test]
fn what_is_not_known_is_said() {
    let folder = Folder::new(&[
        ("plain.plan.kdl", &DEEP.replace("gradient low=35 high=75; ", "")),
        ("lacking.plan.kdl", &DEEP.replace("diver \"Ines\" { gas rest=15 peak=55; }", "diver \"Ines\"")),
        ("deep.plan.kdl", DEEP),
    ]);
    let page = json(folder.root(), &["plain.plan.kdl"]);
    let dive = &list(&page, "dives")[0];
    assert_eq!((list(dive, "tables").len(), &dive["stops_worked_out"]), (1, &Value::from(false)));
    assert!(list(&list(dive, "tables")[0], "rows").iter().all(|row| row["why"] != "stop"));
    let ran = stops(folder.root(), &["plain.plan.kdl"]);
    assert!(ran.joined().contains("The limits give no gradient: no stops are worked out"), "{ran:?}");
    let ran = stops(folder.root(), &["lacking.plan.kdl"]);
    assert!(ran.code == Some(2) && ran.err.contains("can't be run") && ran.err.contains("lacks"), "{ran:?}");
    let ran = stops(folder.root(), &["deep.plan.kdl", "--diver", "Rowan"]);
    assert!(ran.code == Some(2) && ran.err.contains("no diver \"Rowan\": there is \"Ines\""), "{ran:?}");
    let ran = stops(folder.root(), &["none.plan.kdl"]);
    assert!(ran.code == Some(2) && ran.err.contains("none.plan.kdl"), "{ran:?}");
}

/// What is written in feet is told in feet, unless the reader asks for another measure; JSON stays metric.
#[test]
fn a_plan_in_feet_is_told_in_feet() {
    let plan = "plans/feet.plan.kdl";
    let said = |args: &[&str]| Ran::of(leadsman(examples()).args(args).output().unwrap()).out;
    let feet = said(&["stops", plan]);
    assert!(
        feet.contains("              ft  min:s") && feet.contains("cuft") && feet.contains("  descend     95 "),
        "{feet}"
    );
    assert!(feet.contains("4 ft deeper") && !feet.contains(" m deeper"), "{feet}");
    let metres = said(&["stops", plan, "--measures", "metric"]);
    assert!(metres.contains("  descend     29 ") && metres.contains("1.3 m deeper"), "{metres}");
    let track = said(&["track", plan, "--every", "600"]);
    assert!(
        track.contains("psi")
            && track.contains("48 °F")
            && track.contains("95 ft  covered")
            && !track.contains(" bar left"),
        "{track}"
    );
    let saturday = said(&["stops", "plans/saturday.plan.kdl", "--measures", "imperial", "--dive", "morning"]);
    assert!(saturday.contains("  descend     86 "), "26 m are 85.3 feet: {saturday}");
    let depths: Vec<f64> = list(&list(&list(&json(&examples(), &[plan]), "dives")[0], "tables")[0], "rows")
        .iter()
        .map(|row| number(row, "depth_m"))
        .collect();
    assert!((depths[0] - 95.0 * 0.3048).abs() < 1e-6, "{depths:?}");
}
