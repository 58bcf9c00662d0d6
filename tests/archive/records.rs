//! Dated records: the last one on or before the plan's day holds, wherever it is written.

use leadsman::archive::Archive;
use leadsman::plan::as_of;

use super::{archive, id};

const KIT: &str = r#"
cylinder "S12-04" size=12 working=232 {
    fill 190 on="2027-05-20" o2=32
    fill 205 on="2027-05-14" o2=35 analysed=34.8
    fill 200 o2=21
    fill 210 on="2027-02-30" o2=21
}
unit "fen-3" kind=semi-closed {
    cell "a" fitted="2026-01-10" life=(months)12 { reading on="2026-01-11" air=10.4 oxygen=49.1 }
    cell "b" fitted="2026-09-02" life=(months)12 { reading on="2026-09-03" air=9.8 oxygen=46.5 }
    battery "controller" least=50 { charge 82 on="2027-05-15" }
}
canister "c-31" absorbent=2.6
"#;

const LOG: &str = r#"
use "kit.kit.kdl"
record "S12-04" {
    fill 150 on="2027-05-14" o2=36
    test due="2030-01-01"
}
record "fen-3" {
    cell "a" fitted="2027-04-01" life=(months)24 { reading on="2027-04-02" air=11 oxygen=52 }
    cell "a" { reading on="2027-05-14" air=10.9 oxygen=51.5; reading on="2026-06-01" air=10.1 oxygen=47.9 }
    battery "controller" { charge 60 on="2027-05-16" }
    flow 11.2 on="2027-05-15"
}
record "c-31" { packed on="2027-05-14" }
"#;

fn on(day: &str) -> Archive {
    let plan = format!(
        "use \"log.kit.kdl\"\nplan \"x\" on=\"{day}\" {{ dive \"one\" {{ diver \"Rowan\" unit=\"fen-3\" supply=\"S12-04\" }} }}"
    );
    archive(&[("kit.kit.kdl", KIT), ("log.kit.kdl", LOG), ("x.plan.kdl", &plan)])
}

fn fill(day: &str) -> Option<f64> {
    let archive = on(day);
    let plan = archive.plan(&id("x.plan.kdl")).unwrap();
    let cylinder = plan.dives[0].divers[0].cylinders[0].cylinder.clone().unwrap();
    let fill = as_of(&cylinder.thing.fills, plan.on.as_ref().unwrap().value)?;
    Some(fill.what.gauge_bar.as_ref().unwrap().value)
}

#[test]
fn the_last_record_on_or_before_the_day_holds() {
    // Of two fills of one day the one written last holds, which is the other file's; one without a day, or with a day
    // that is none, holds for no plan.
    assert_eq!(fill("2027-05-13"), None);
    assert_eq!(fill("2027-05-14"), Some(150.0));
    assert_eq!(fill("2027-05-19"), Some(150.0));
    assert_eq!(fill("2027-05-20"), Some(190.0));
    assert_eq!(fill("2032-05-20"), Some(190.0), "it means the same in five years");
}

/// An order of canisters is told whole: the last word on it holds, and no canister of an earlier one is left in it.
#[test]
fn canisters_that_a_record_names_stand_for_those_named_before() {
    let kit = "unit \"fen-3\" kind=semi-closed { bed \"c-31\"; bed \"c-32\" moves-up=yes; }\nrecord \"fen-3\" { flow 11.2 on=\"2027-05-15\"; }";
    let anew = format!("{kit}\nrecord \"fen-3\" {{ bed \"c-41\"; bed \"c-31\"; bed \"c-42\"; }}");
    for (kit, named) in [(kit, "c-31 c-32^"), (&*anew, "c-41 c-31 c-42")] {
        let archive = archive(&[("kit.kit.kdl", kit)]);
        let scope = archive.scope(&id("kit.kit.kdl"));
        let beds = scope.units["fen-3"].thing.beds.iter();
        let beds = beds.map(|bed| format!("{}{}", bed.canister.value, if bed.moves_up { "^" } else { "" }));
        assert_eq!(beds.collect::<Vec<_>>().join(" "), named);
    }
}

#[test]
fn records_of_other_files_stand_under_their_thing() {
    let archive = on("2027-05-15");
    let scope = archive.scope(&id("x.plan.kdl"));
    assert_eq!(scope.cylinders["S12-04"].thing.test_due.as_ref().unwrap().value.to_string(), "2030-01-01");
    assert_eq!(scope.cylinders["S12-04"].thing.fills.len(), 5);
    assert_eq!(scope.canisters["c-31"].thing.packed.len(), 1);
    let unit = &scope.units["fen-3"].thing;
    assert_eq!(unit.batteries.len(), 1);
    assert_eq!(unit.batteries[0].charges.len(), 2);
    assert_eq!(unit.batteries[0].charges[1].place.file, id("log.kit.kdl"));
    assert_eq!(unit.flow.len(), 1);
    // The kit file itself, which doesn't use the log, sees only its own.
    assert_eq!(archive.scope(&id("kit.kit.kdl")).cylinders["S12-04"].thing.fills.len(), 4);
}

#[test]
fn a_cell_that_was_replaced_is_the_one_fitted_on_the_day() {
    let cells = |day: &str| {
        let unit = on(day).plan(&id("x.plan.kdl")).unwrap().dives[0].divers[0].unit.clone().unwrap();
        let told = unit.thing.cells.iter().map(|cell| {
            let air: Vec<f64> = cell.readings.iter().map(|r| r.what.air_mv.as_ref().unwrap().value).collect();
            (cell.name.value.clone(), cell.fitted.as_ref().unwrap().value.to_string(), air)
        });
        told.collect::<Vec<_>>()
    };
    let cell = |name: &str, fitted: &str, air: &[f64]| (name.to_owned(), fitted.to_owned(), air.to_vec());
    let old = cell("a", "2026-01-10", &[10.4, 10.1]);
    let other = cell("b", "2026-09-02", &[9.8]);
    assert_eq!(cells("2027-03-31"), [old, other.clone()]);
    assert_eq!(cells("2027-05-15"), [other, cell("a", "2027-04-01", &[11.0, 10.9])]);
}
