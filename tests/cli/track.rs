//! A plan's dives as they would go.

use std::path::{Path, PathBuf};

use leadsman::CAUTION;
use serde_json::Value;

use super::{Folder, Ran, is_honest, leadsman};
use crate::pages::json::fits;

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")
}

fn track(folder: &Path, args: &[&str]) -> Ran {
    Ran::of(leadsman(folder).arg("track").args(args).output().unwrap())
}

fn json(folder: &Path, args: &[&str]) -> Value {
    let ran = track(folder, &[args, &["--format", "json"]].concat());
    assert_eq!((ran.code, &*ran.err), (Some(0), ""), "{ran:?}");
    let page: Value = serde_json::from_str(&ran.out).unwrap();
    fits(&page, "track");
    assert_eq!(page["caution"], CAUTION);
    page
}

fn names(page: &Value) -> Vec<(&str, &str)> {
    let dives = page["dives"].as_array().unwrap();
    dives.iter().map(|dive| (dive["dive"].as_str().unwrap(), dive["diver"].as_str().unwrap())).collect()
}

const SATURDAY: &str = "plans/saturday.plan.kdl";

#[test]
fn every_dive_of_every_diver_is_written_alternatives_among_them() {
    let page = json(&examples(), &[SATURDAY]);
    let wanted = [
        ("morning", "Rowan"),
        ("morning", "Ines"),
        ("too dark below 20 m", "Rowan"),
        ("too dark below 20 m", "Ines"),
        ("afternoon", "Rowan"),
        ("afternoon", "Ines"),
    ];
    assert_eq!(names(&page), wanted);
    for dive in page["dives"].as_array().unwrap() {
        let times = |what: &str| -> Vec<f64> {
            dive[what].as_array().unwrap().iter().map(|at| at["t_s"].as_f64().unwrap()).collect()
        };
        assert!(times("samples").is_sorted_by(|a, b| a < b) && times("events").is_sorted());
        // Every trouble that the diver can meet is told, and none is uncovered on a good plan.
        let contingencies = dive["contingencies"].as_array().unwrap();
        assert!(contingencies.iter().any(|one| one["scenario"] == "breathless"));
        assert!(contingencies.iter().all(|one| one["covered"] == true), "{contingencies:#?}");
        // Under way there is a ceiling and a time to the surface, and where there is a ceiling no time without stops.
        for sample in dive["samples"].as_array().unwrap() {
            let number = |what: &str| sample[what].as_f64();
            let under_way = number("t_s").unwrap() >= 0.0 && number("depth_m").unwrap() > 0.0;
            assert_eq!((number("ceiling_m").is_some(), number("to_surface_min").is_some()), (under_way, under_way));
            assert!(number("no_stop_min").is_none_or(|_| under_way));
            let up = number("depth_m").unwrap() / 9.0;
            assert!(number("to_surface_min").is_none_or(|minutes| minutes >= up - 1e-6));
        }
    }
}

/// At 19 m in a quarry at 210 m the set-point of 26 % is 0.75 bar: Ps = 0.98828 bar by ISO 2533 (worked by hand from the
/// standard's formula), 10 m of an instrument are 1 bar.
#[test]
fn a_sample_is_the_dive_at_that_instant() {
    let page = json(&examples(), &[SATURDAY, "--dive=morning", "--diver=Rowan", "--every=90"]);
    assert_eq!(names(&page), [("morning", "Rowan")]);
    let samples = page["dives"][0]["samples"].as_array().unwrap();
    let at = |t_s: f64| samples.iter().find(|sample| sample["t_s"] == t_s).unwrap();
    let times: Vec<f64> = samples.iter().map(|sample| sample["t_s"].as_f64().unwrap()).collect();
    // Five minutes of pre-breathe, every 90 s of run time, and the end: 26/15 + 24 + 7/9 + 12 + 19/9 minutes and the stops.
    assert_eq!(times[..4], [-300.0, -270.0, -180.0, -90.0]);
    let stops: f64 =
        page["dives"][0]["stops"].as_array().unwrap().iter().map(|stop| stop["minutes"].as_f64().unwrap()).sum();
    let end = (26.0 / 15.0 + 24.0 + 7.0 / 9.0 + 12.0 + 19.0 / 9.0 + stops) * 60.0;
    assert!((times[times.len() - 1] - end).abs() < 1e-5);
    let level = at(1800.0);
    let number = |what: &str| level[what].as_f64().unwrap();
    assert!((number("depth_m") - 19.0).abs() < 1e-6);
    assert!((number("pressure_bar") - (0.98828 + 1.9)).abs() < 1e-4);
    assert!((number("po2_bar") - 0.26 * (0.98828 + 1.9)).abs() < 1e-4);
    assert_eq!((&level["source"], level["loop_o2_percent"].as_f64()), (&Value::from("loop"), Some(26.0)));
    // Moderate work: V(1 − F)/(Fs − F) with 1.5·1.08744 free litres of oxygen a minute on 34.8 %.
    assert!((number("feed_lpm") - 1.5 * 1.08744 * 0.74 / 0.088).abs() < 1e-3);
    // Light work needs less than the constant feed, as measured, brings: the loop is richer than its set-point.
    let rich = at(1440.0)["loop_o2_percent"].as_f64().unwrap();
    assert!((rich - 100.0 * (11.2 * 0.348 - 1.08744) / (11.2 - 1.08744)).abs() < 0.01, "{rich}");
    let bar = |t_s: f64| at(t_s)["cylinders"]["S12-04"]["bar"].as_f64().unwrap();
    assert!(bar(0.0) > bar(900.0) && bar(900.0) > bar(1800.0));
    let deepest = &page["dives"][0]["extremes"]["greatest_depth_m"];
    assert!(
        (deepest["value"].as_f64().unwrap() - 26.0).abs() < 1e-5
            && (deepest["t_s"].as_f64().unwrap() - 104.0).abs() < 1e-3
    );
}

#[test]
fn on_open_circuit_the_cylinder_is_the_source() {
    let page = json(&examples(), &[SATURDAY, "--dive=afternoon", "--diver=Ines"]);
    let sample = &page["dives"][0]["samples"][10];
    assert_eq!(sample["source"], "D12-2");
    assert!(sample["loop_o2_percent"].is_null() && sample["feed_lpm"].is_null() && sample["absorbent_min"].is_null());
}

/// Nitrogen's pressure over air's share of it is the pressure of the equivalent depth on air (U.S. Navy Diving Manual,
/// chapter 10); where oxygen counts as nitrogen does, all but helium is narcotic (common practice, no source).
#[test]
fn each_sample_is_told_as_a_depth_on_air() {
    let page = json(&examples(), &[SATURDAY]);
    let mut seen = 0;
    for dive in page["dives"].as_array().unwrap() {
        for sample in dive["samples"].as_array().unwrap() {
            let number = |key: &str| sample[key].as_f64().unwrap();
            let (depth, bar) = (number("depth_m"), number("pressure_bar"));
            assert!((number("end_m") - depth.max(0.0)).abs() < 1e-5, "{sample}");
            if depth > 1.0 {
                let surface = page_surface(dive);
                let bar_per_m = (bar - surface) / depth;
                let ead = ((bar - number("po2_bar")) / 0.79 - surface) / bar_per_m;
                assert!((number("ead_m") - ead.max(0.0)).abs() < 1e-3, "{sample}: {ead}");
                seen += 1;
            }
        }
    }
    assert!(seen > 50);
}

/// The pressure at the surface, by the sample on leaving it.
fn page_surface(dive: &Value) -> f64 {
    let samples = dive["samples"].as_array().unwrap();
    samples.iter().find(|sample| sample["t_s"] == 0.0).unwrap()["pressure_bar"].as_f64().unwrap()
}

#[test]
fn the_table_has_a_line_an_instant_and_what_happens_between() {
    let ran = track(&examples(), &[SATURDAY, "--dive=morning", "--diver=Rowan", "--every=600"]);
    assert_eq!((ran.code, &*ran.err), (Some(0), ""));
    is_honest(&ran);
    let lines: Vec<&str> = ran.out.lines().collect();
    assert_eq!(lines[0], "dive \"morning\", diver \"Rowan\", unit \"fen-3\"");
    let cells: Vec<Vec<&str>> = lines.iter().map(|line| line.split_whitespace().collect()).collect();
    let ten = cells.iter().find(|cells| cells.first() == Some(&"10:00")).unwrap();
    assert_eq!(ten[1..6], ["26.0", "loop", "27.5", "1.00", "26"]);
    let heads: Vec<&str> = cells[1].clone();
    assert!(
        heads.ends_with(&["S12-04", "S7-11", "S7-14"]) && lines[1].contains("ceiling  no stop  to surface"),
        "{}",
        ran.out
    );
    assert!(lines.contains(&"  −4:50  · the loop is at its set-point"), "{}", ran.out);
    // At 20:00 a ceiling stands beside minutes without stops.
    let twenty = cells.iter().find(|cells| cells.first() == Some(&"20:00")).unwrap();
    assert!(twenty[7] != "0" && twenty[8] != "0", "{twenty:?}");
    assert!(ran.out.contains("A ceiling beside minutes without stops is gone before"), "{}", ran.out);
    assert!(lines.iter().all(|line| line.trim_end() == *line));
    assert!(lines[1..9].iter().all(|line| line.starts_with("  ")));
}

/// What goes wrong is told of a feed as low as one that nobody measured may be, ten percent (common practice, no source).
#[test]
fn a_feed_that_was_not_measured_is_told_to_be_low_where_things_go_wrong() {
    let measured = include_str!("../rules/currency-lapsed/good-to-the-day.plan.kdl");
    let unmeasured: String =
        measured.lines().filter(|line| !line.contains("flow ")).map(|line| format!("{line}\n")).collect();
    assert_ne!(unmeasured.lines().count(), measured.lines().count());
    for (plan, says) in [
        (measured, "each from its worst moment:"),
        (&*unmeasured, "each from its worst moment, with the constant feed 10 % low:"),
    ] {
        let folder = Folder::new(&[("feed.plan.kdl", plan)]);
        let ran = folder.run(&["track", "feed.plan.kdl", "--every", "600"]);
        assert!(ran.code == Some(0) && ran.out.contains(says), "{ran:?}");
    }
}

#[test]
fn what_is_not_there_is_said_with_what_is() {
    let none = track(&examples(), &[SATURDAY, "--dive", "noon"]);
    assert_eq!((none.code, &*none.out), (Some(2), ""));
    assert!(
        none.err.contains("no dive \"noon\": there is \"morning\", \"too dark below 20 m\", \"afternoon\""),
        "{none:?}"
    );
    let none = track(&examples(), &[SATURDAY, "--diver", "Zoë"]);
    assert!(none.code == Some(2) && none.err.contains("no diver \"Zoë\": there is \"Rowan\", \"Ines\""), "{none:?}");
    for (args, says) in [
        (&["crew.kit.kdl"][..], "holds no plan"),
        (&["plans"], "is a folder"),
        (&["nothing.plan.kdl"], "nothing.plan.kdl"),
        (&[SATURDAY, "--every", "0"], "--every"),
    ] {
        let ran = track(&examples(), args);
        assert!(ran.code == Some(2) && ran.out.is_empty() && ran.err.contains(says), "{ran:?}");
    }
    let folder = Folder::new(&[("empty.plan.kdl", "plan \"Shelf\" on=\"2027-05-15\"\n")]);
    let ran = folder.run(&["track", "empty.plan.kdl"]);
    assert!(ran.code == Some(2) && ran.err.contains("holds no dive with a diver"), "{ran:?}");
}

/// A dive that can't be run keeps no other from being shown; what it lacks is said with its place.
#[test]
fn a_fact_that_lacks_is_named_where_it_would_stand() {
    let plan = r#"plan "Grüner Grund" on="2027-05-15" {
    dive "eins\u{1b}" {
        descend 18
        stay 5
        ascend
        diver "Zoë" back="D12-2"
        diver "Rowan" back="D12-3"
    }
}
cylinder "D12-2" size=24 { fill 200 on="2027-05-14" o2=32; }
cylinder "D12-3" size=24 { fill on="2027-05-14" o2=32; }
diver "Zoë" { gas rest=16 peak=60; }
diver "Rowan" { gas rest=16 peak=60; }
"#;
    let folder = Folder::new(&[("grund.plan.kdl", plan)]);
    let ran = folder.run(&["track", "grund.plan.kdl"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.err
            .contains("of \"Rowan\" can't be run: grund.plan.kdl:7:28: lacks the pressure of the `fill` of cylinder"),
        "{ran:?}"
    );
    is_honest(&ran);
    assert!(ran.out.contains("diver \"Zoë\"") && !ran.out.contains("Rowan") && !ran.out.contains('\u{1b}'), "{ran:?}");
}

/// A drill that is one diver's leaves the others where they are, for as long.
#[test]
fn a_drill_may_be_one_divers() {
    let plan = String::from_utf8(std::fs::read(examples().join(SATURDAY)).unwrap()).unwrap();
    let kit = ["kit/cylinders.kit.kdl", "kit/units.kit.kdl", "crew.kit.kdl", "leadsman.kdl"];
    let folder = Folder::new(&[]);
    for name in kit {
        folder.write(name, std::fs::read(examples().join(name)).unwrap());
    }
    let drill = "        off-loop minutes=3 who=\"Rowan\"\n        on-loop who=\"Rowan\"\n        ascend";
    folder.write(SATURDAY, plan.replacen("        ascend", drill, 1));
    let page = json(folder.root(), &[SATURDAY, "--dive=morning", "--every=60"]);
    let of = |diver: &str| -> Vec<(f64, String)> {
        let dive = page["dives"].as_array().unwrap().iter().find(|dive| dive["diver"] == diver).unwrap();
        let samples = dive["samples"].as_array().unwrap();
        samples.iter().map(|at| (at["t_s"].as_f64().unwrap(), at["source"].as_str().unwrap().to_owned())).collect()
    };
    let off = |diver: &str| of(diver).iter().filter(|(_, source)| source != "loop").count();
    assert_eq!((off("Rowan"), off("Ines")), (3, 0));
    let minutes = |diver: &str| of(diver).last().unwrap().0;
    assert!((minutes("Rowan") - minutes("Ines")).abs() < 60.0 * 3.0);
}

#[test]
fn the_same_plan_is_written_the_same() {
    let page = || track(&examples(), &[SATURDAY, "--format=json"]).out;
    assert_eq!(page(), page());
}

/// With a trouble the dive is as planned up to its worst moment, and then leaves the loop for good.
#[test]
fn a_scenario_is_told_from_its_worst_moment() {
    let asked = |name: &str| {
        let scenario = format!("--scenario={name}");
        json(&examples(), &[SATURDAY, "--dive=morning", "--diver=Rowan", "--every=60", &scenario])
    };
    let planned = json(&examples(), &[SATURDAY, "--dive=morning", "--diver=Rowan", "--every=60"]);
    let page = asked("breathless");
    let dive = &page["dives"][0];
    let at = dive["contingencies"][0]["t_s"].as_f64().unwrap();
    for (sample, plan) in
        dive["samples"].as_array().unwrap().iter().zip(planned["dives"][0]["samples"].as_array().unwrap())
    {
        if sample["t_s"].as_f64().unwrap() < at {
            assert_eq!(
                (&sample["t_s"], &sample["depth_m"], &sample["source"]),
                (&plan["t_s"], &plan["depth_m"], &plan["source"])
            );
        } else if sample["t_s"].as_f64().unwrap() > at {
            assert_ne!(sample["source"], "loop");
        }
    }
    // The plan's overrun is two metres deeper.
    let deepest = |page: &Value| page["dives"][0]["extremes"]["greatest_depth_m"]["value"].as_f64().unwrap();
    assert!((deepest(&asked("deeper")) - deepest(&planned) - 2.0).abs() < 1e-6);
    let ran = track(&examples(), &[SATURDAY, "--scenario=doom"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("no scenario \"doom\": there is \"controlled-feed-shut\""), "{}", ran.err);
}
