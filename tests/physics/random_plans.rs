//! Invented plans on all four kinds of apparatus, beside what integrating them by SciPy finds.
//!
//! `tests/reference/random_plans.json` was written by `tests/reference/scripts/random_plans.py`, a simulator of its own that
//! solves nothing beforehand; no figure in it is the engine's.

use std::collections::HashMap;
use std::path::Path;
use std::sync::LazyLock;

use serde_json::Value;

use crate::cli::Folder;

/// Points of percent of the loop's oxygen, and of the oxygen clock's limit.
const OXYGEN: f64 = 0.01;
const CLOCK: f64 = 0.01;
/// Pulmonary units: as little of what a dive may bring.
const UNITS: f64 = 0.05;
/// Free litres given by a cylinder.
const GAS: f64 = 3.0;
/// Minutes: of the time without stops, whose end the script brackets to a ten-thousandth; and of a dive's length.
const NO_STOP: f64 = 0.02;
const LENGTH: f64 = 1e-3;

/// A plan of the table, and its dives as the command shows them.
struct Both {
    plan: Value,
    page: Value,
}

static PLANS: LazyLock<Vec<Both>> = LazyLock::new(|| {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/random_plans.json");
    let table: Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let folder = Folder::new(&[]);
    let plans = table["plans"].as_array().unwrap();
    plans
        .iter()
        .map(|plan| {
            folder.write("invented.plan.kdl", plan["text"].as_str().unwrap());
            let ran = folder.run(&["track", "invented.plan.kdl", "--format", "json", "--every", "60"]);
            assert_eq!((ran.code, &*ran.err), (Some(0), ""), "{}", plan["plan"]);
            Both { plan: plan.clone(), page: serde_json::from_str(&ran.out).unwrap() }
        })
        .collect()
});

/// What was found to differ: all of it is told, not the first alone.
#[derive(Default)]
struct Differences {
    looked: usize,
    told: Vec<String>,
}

impl Differences {
    fn see(&mut self, what: &str, found: Option<f64>, expected: f64, most: f64) {
        self.looked += 1;
        if found.is_none_or(|found| (found - expected).abs() > most || found.is_nan()) {
            self.told.push(format!("{what}: {found:?} is not {expected} ± {most}"));
        }
    }

    #[track_caller]
    fn none(self, least: usize) {
        assert!(self.looked >= least, "looked at {} figures alone", self.looked);
        assert!(self.told.is_empty(), "{} differ:\n{}", self.told.len(), self.told.join("\n"));
    }
}

/// Calls `look` with each instant of the table, the sample of that instant, and what to call it.
fn instants(both: &Both, mut look: impl FnMut(&str, &Value, &Value)) {
    let name = both.plan["plan"].as_str().unwrap();
    for (dive, page) in dives(both) {
        let samples = page["samples"].as_array().unwrap();
        for at in dive["at"].as_array().unwrap() {
            let sample = match at["t_s"].as_f64() {
                Some(t_s) => samples.iter().find(|sample| sample["t_s"].as_f64() == Some(t_s)),
                None => samples.last(),
            };
            let what = format!("{name}, {} at {}", dive["dive"], at["t_s"]);
            look(&what, at, sample.unwrap_or(&Value::Null));
        }
    }
}

fn dives(both: &Both) -> impl Iterator<Item = (&Value, &Value)> {
    let (table, page) = (both.plan["dives"].as_array().unwrap(), both.page["dives"].as_array().unwrap());
    assert_eq!(table.len(), page.len(), "{}", both.plan["plan"]);
    table.iter().zip(page)
}

fn kinds(both: &[Both]) -> HashMap<&str, usize> {
    let mut kinds = HashMap::new();
    for one in both {
        *kinds.entry(one.plan["apparatus"].as_str().unwrap()).or_default() += 1;
    }
    kinds
}

#[test]
fn loops_hold_the_oxygen_that_integrating_them_finds() {
    let mut differences = Differences::default();
    for both in &*PLANS {
        instants(both, |what, at, sample| {
            if let Some(o2) = at["o2_percent"].as_f64() {
                differences.see(&format!("{what}, oxygen"), sample["loop_o2_percent"].as_f64(), o2, OXYGEN);
            }
        });
    }
    differences.none(100);
    for kind in ["open", "semi-closed", "passive", "closed"] {
        assert!(kinds(&PLANS)[kind] >= 10, "{:?}", kinds(&PLANS));
    }
}

/// Of cylinders whose analysis is what was ordered.
#[test]
fn clocks_run_as_integrating_them_finds() {
    clocks(false, 100);
}

fn clocks(apart: bool, least: usize) {
    let mut differences = Differences::default();
    for both in PLANS.iter().filter(|both| both.plan["apart"] == apart) {
        instants(both, |what, at, sample| {
            // On the richer mixes a schedule of its own is run: on the way up it is a stop ahead or behind, at the end it is not.
            if apart && !what.ends_with("at null") {
                return;
            }
            for (name, most) in [("cns_percent", CLOCK), ("uptd", UNITS)] {
                let expected = at[name].as_f64().unwrap();
                differences.see(&format!("{what}, {name}"), sample[name].as_f64(), expected, most);
            }
        });
    }
    differences.none(least);
}

#[test]
fn cylinders_give_what_integrating_the_flows_finds() {
    let mut differences = Differences::default();
    for both in &*PLANS {
        let mut full: HashMap<String, f64> = HashMap::new();
        for (_, page) in dives(both) {
            for (name, held) in page["samples"][0]["cylinders"].as_object().unwrap() {
                full.entry(name.clone()).or_insert(held["litres"].as_f64().unwrap());
            }
        }
        instants(both, |what, at, sample| {
            for (name, given) in at["given_l"].as_object().unwrap() {
                let litres = sample["cylinders"][name]["litres"].as_f64();
                let found = litres.zip(full.get(name)).map(|(litres, full)| full - litres);
                differences.see(&format!("{what}, {name}"), found, given.as_f64().unwrap(), GAS);
            }
        });
    }
    differences.none(100);
}

#[test]
fn stops_are_those_found_by_diving_them() {
    let mut differences = Differences::default();
    let mut with_stops = 0;
    for both in &*PLANS {
        for (dive, page) in dives(both) {
            let what = format!("{}, {}", both.plan["plan"], dive["dive"]);
            let (expected, found) = (dive["stops"].as_array().unwrap(), page["stops"].as_array().unwrap());
            differences.see(&format!("{what}, stops"), Some(found.len() as f64), expected.len() as f64, 0.0);
            for (expected, found) in expected.iter().zip(found) {
                let see = |of: &Value| of.as_f64().unwrap();
                differences.see(&format!("{what}, a stop's depth"), found["depth_m"].as_f64(), see(&expected[0]), 1e-6);
                differences.see(&format!("{what}, its minutes"), found["minutes"].as_f64(), see(&expected[1]), 1e-6);
            }
            with_stops += usize::from(!expected.is_empty());
            let end = page["samples"].as_array().unwrap().last().and_then(|last| last["t_s"].as_f64());
            let length = dive["end_s"].as_f64().unwrap() / 60.0;
            differences.see(&format!("{what}, length"), end.map(|t_s| t_s / 60.0), length, LENGTH);
        }
    }
    differences.none(100);
    assert!(with_stops >= 20, "{with_stops} dives with stops");
}

#[test]
fn time_without_stops_is_that_found_by_trial() {
    let mut differences = Differences::default();
    for both in &*PLANS {
        instants(both, |what, at, sample| {
            if let Some(minutes) = at["no_stop_min"].as_f64() {
                differences.see(&format!("{what}, no stop"), sample["no_stop_min"].as_f64(), minutes, NO_STOP);
            }
        });
    }
    differences.none(30);
}

/// Where they differ, tissues go by the leaner and the clocks by the richer.
#[test]
fn clocks_go_by_the_richer_of_order_and_analysis() {
    clocks(true, 8);
}
