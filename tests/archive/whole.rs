//! Every fact that a file can say has a field, and is in it.

use std::path::Path;
use std::sync::Arc;

use leadsman::archive::{Archive, Disk};
use leadsman::findings::Level;
use leadsman::physics::SetPoint;
use leadsman::physics::litres::Stpd;
use leadsman::plan::{ApparatusKind, LegKind, Life, Maybe, Role, Status, SwitchTo, Way, Work, WrittenMix};
use leadsman::words::{LIMITS, LimitName};

use super::{archive, id, written};

fn sample() -> Archive {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/archive/sample");
    Archive::open(Arc::new(Disk), &root)
}

fn of<T: Clone>(maybe: &Maybe<T>) -> T {
    maybe.as_ref().expect("a value").value.clone()
}

fn close(maybe: &Maybe<f64>, value: f64) {
    let read = of(maybe);
    assert!((read - value).abs() <= 1e-9 * value.abs().max(1.0), "{read} is not {value}");
}

/// The fields of something that are `None`, each once, by name.
fn none(thing: &impl std::fmt::Debug) -> Vec<String> {
    let told = format!("{thing:#?}");
    let mut names: Vec<String> =
        told.lines().filter_map(|line| line.trim().strip_suffix(": None,")).map(str::to_owned).collect();
    names.sort();
    names.dedup();
    names
}

#[test]
fn the_sample_plan_is_read_whole() {
    let archive = sample();
    let file = id("plans/saturday.plan.kdl");
    let plan = archive.plan(&file).unwrap();
    assert_eq!(plan.name.value, "Greyfen quarry, Saturday");
    assert_eq!(of(&plan.on).to_string(), "2027-05-15");
    assert_eq!(plan.status, Status::Ready);
    assert_eq!(written(&archive, plan.status_at.as_ref().unwrap()), "ready");
    let site = plan.site.as_ref().unwrap();
    assert_eq!(site.name.as_ref().unwrap().value, "Greyfen quarry");
    assert_eq!(of(&site.water), "fresh");
    close(&site.altitude_m, 210.0);
    close(&site.temperature_c, 9.0);
    close(&site.depth_m, 38.0);
    let emergency = site.emergency.as_ref().unwrap();
    assert_eq!((of(&emergency.chamber), of(&emergency.phone)), ("County chamber".into(), "000 555 0142".into()));
    close(&emergency.evacuation_min, 45.0);
    close(&emergency.oxygen[0].size_l, 10.0);
    close(&emergency.oxygen[0].gauge_bar, 200.0);
    close(&emergency.oxygen[0].count, 2.0);
    assert_eq!(none(site), ["density", "depth_by", "surface_bar"]);

    let limits = &plan.limits;
    for (limit, value) in [
        (LimitName::GradientLow, 45.0),
        (LimitName::GradientHigh, 80.0),
        (LimitName::Po2Working, 1.4),
        (LimitName::Po2Deco, 1.6),
        (LimitName::Po2Bailout, 1.6),
        (LimitName::Po2Least, 0.18),
        (LimitName::Reserve, 50.0),
        (LimitName::OverrunDepth, 2.0),
        (LimitName::OverrunTime, 4.0),
        (LimitName::Depth, 36.0),
    ] {
        close(&limits.set(limit), value);
    }
    assert_eq!(limits.said(LimitName::Depth).unwrap().place.file, id("leadsman.kdl"));
    let unsaid: Vec<&str> =
        LIMITS.iter().filter(|limit| limits.said(limit.name).is_none()).map(|limit| limit.words).collect();
    let expected = [
        "po2 supply=",
        "unusable",
        "deco",
        "shallowest-stop",
        "grid",
        "ascent rate=",
        "ascent last=",
        "ascent within=",
        "descent rate=",
        "work legs=",
        "work home=",
        "absorbent share=",
        "absorbent guard=",
        "safety-stop",
        "safety-stop minutes=",
        "band",
        "react",
        "exit pace=",
        "exit share=",
        "narcosis depth=",
        "narcosis counts=",
        "density easy=",
        "density most=",
        "cns warn=",
        "cns most=",
        "stress minutes=",
        "stress at=",
        "stress up=",
        "breathless minutes=",
        "breathless fades=",
        "breathless gas=",
        "analysis own=",
        "overfill note=",
        "overfill most=",
        "filling temperature=",
        "currency months=",
        "supervision students=",
    ];
    assert_eq!(unsaid, expected);

    let [morning, afternoon] = &plan.dives[..] else { panic!("two dives") };
    assert_eq!((morning.name.value.as_str(), of(&morning.at).to_string()), ("morning", "09:40:00".into()));
    let legs: Vec<_> = morning.legs.iter().map(|leg| leg.kind.word()).collect();
    assert_eq!(legs, ["descend", "stay", "ascend", "stay", "ascend"]);
    close(&morning.legs[0].depth_m().cloned(), 26.0);
    close(&morning.legs[0].rate().cloned(), 15.0);
    assert!(matches!(&morning.legs[1].kind, LegKind::Stay { minutes, until_min: None } if of(minutes) == 20.0));
    assert_eq!(of(&morning.legs[1].work), Work::Light);
    close(&morning.legs[2].depth_m().cloned(), 19.0);
    close(&morning.legs[2].rate().cloned(), 9.0);
    assert_eq!(of(&morning.legs[3].work), Work::Moderate);
    assert!(morning.legs[4].is_way_home());
    let [rowan, ines] = &morning.divers[..] else { panic!("two divers") };
    assert_eq!((rowan.name.value.as_str(), ines.name.value.as_str()), ("Rowan", "Ines"));
    assert!(rowan.diver.is_some() && ines.diver.is_some());
    assert_eq!(rowan.unit.as_ref().unwrap().name.value, "fen-3");
    let carried: Vec<_> = rowan.cylinders.iter().map(|c| (c.role.value.word(), c.name.value.as_str())).collect();
    assert_eq!(carried, [("supply", "S12-04"), ("deco", "S7-11"), ("bailout", "S7-14")]);
    assert_eq!(written(&archive, &rowan.cylinders[0].role.place), "supply");
    assert!(rowan.cylinders.iter().chain(&ines.cylinders).all(|carried| carried.cylinder.is_some()));
    assert_eq!(of(&rowan.set_point), SetPoint::Fraction(0.26));
    assert_eq!(of(&rowan.role), "lead");
    assert_eq!(none(rowan).iter().filter(|name| *name == "work").count(), 1);
    let otherwise = &morning.otherwise[0];
    assert_eq!((otherwise.name.value.as_str(), otherwise.legs.len()), ("too dark below 20 m", 3));
    close(&plan.intervals_min[0], 95.0);
    assert_eq!((afternoon.name.value.as_str(), afternoon.at.is_none()), ("afternoon", true));
    assert_eq!(afternoon.divers[1].cylinders[0].role.value, Role::Back);
    assert_eq!(afternoon.divers[1].unit.as_ref().unwrap().thing.kind.as_ref().unwrap().value, ApparatusKind::Open);
}

#[test]
fn the_sample_kit_is_read_whole() {
    let archive = sample();
    let scope = archive.scope(&id("plans/saturday.plan.kdl"));
    let unit = &scope.units["fen-3"].thing;
    assert_eq!((of(&unit.kind), of(&unit.serial)), (ApparatusKind::SemiClosed, "A-0031".into()));
    for (value, is) in [
        (&unit.loop_l, 5.0),
        (&unit.feed_constant_lpm, 11.0),
        (&unit.feed_controlled_lpm, 13.0),
        (&unit.floor_percent, 22.0),
        (&unit.needs_percent, 34.0),
        (&unit.reach_depth_m, 36.0),
        (&unit.reach_deco_min, 15.0),
    ] {
        close(value, is);
    }
    assert!(of(&unit.make_up));
    assert_eq!(of(&unit.mouthpiece), Some(Role::Bailout));
    let [bed] = &unit.beds[..] else { panic!("one canister") };
    assert_eq!((bed.canister.value.as_str(), bed.moves_up), ("c-31", false));
    let [a, b] = &unit.cells[..] else { panic!("two cells") };
    assert_eq!((a.name.value.as_str(), b.name.value.as_str()), ("a", "b"));
    assert_eq!((of(&a.fitted).to_string(), of(&a.life)), ("2027-01-10".into(), Life::Months(12)));
    close(&a.readings[0].what.air_mv, 10.4);
    close(&a.readings[0].what.oxygen_mv, 49.1);
    assert_eq!(of(&a.readings[0].on).to_string(), "2027-05-14");
    assert_eq!(of(&unit.calibrated[0].on).to_string(), "2027-05-15");
    close(&unit.flow[0].what, 11.2);
    assert_eq!(unit.batteries[0].name.value, "controller");
    close(&unit.batteries[0].least_percent, 50.0);
    close(&unit.batteries[0].charges[0].what, 82.0);
    assert_eq!(of(&unit.service_due).to_string(), "2027-11-01");
    let unsaid = [
        "checks_l",
        "inject_lpm",
        "lasts_min",
        "made",
        "make_up_max_lpm",
        "model",
        "oxygen_bar",
        "pre_breathe_min",
        "reach_coldest_c",
        "spill_compensated",
        "spill_ratio",
    ];
    assert_eq!(none(unit), unsaid);

    let canister = &scope.canisters["c-31"].thing;
    close(&canister.absorbent_kg, 2.6);
    close(&canister.rated_min, 200.0);
    assert_eq!(of(&canister.rated_co2), Stpd(1.6));
    close(&canister.rated_c, 4.0);
    assert_eq!(of(&canister.packed[0].on).to_string(), "2027-05-14");
    close(&canister.used[0].what, 5.0);
    assert_eq!(none(canister), [""; 0]);

    let cylinder = &scope.cylinders["S12-04"].thing;
    close(&cylinder.size_l, 12.0);
    close(&cylinder.working_gauge_bar, 232.0);
    let fill = &cylinder.fills[0].what;
    close(&fill.gauge_bar, 205.0);
    assert_eq!(of(&fill.by), "Ines");
    assert_eq!(of(&fill.nominal), WrittenMix { o2_percent: 35.0, he_percent: 0.0 });
    assert_eq!(of(&fill.analysed), WrittenMix { o2_percent: 34.8, he_percent: 0.0 });
    assert_eq!(
        (of(&cylinder.test_due).to_string(), of(&cylinder.clean_due).to_string()),
        ("2029-03-01".into(), "2028-03-01".into())
    );
    assert_eq!(none(cylinder), ["analysed_by", "analysed_on", "temperature_c"]);

    let diver = &scope.divers["Rowan"].thing;
    let training = &diver.trained[0];
    assert_eq!(
        (of(&training.on).to_string(), of(&training.what.kind)),
        ("2025-08-02".into(), ApparatusKind::SemiClosed)
    );
    close(&training.what.depth_m, 34.0);
    close(&training.what.deco_min, 12.0);
    let gas: Vec<_> = Work::ALL.iter().map(|work| diver.gas.at(*work).map(|rate| rate.value.0)).collect();
    assert_eq!(gas, [Some(16.0), None, None, None, Some(60.0)]);
    let oxygen: Vec<_> = Work::ALL.iter().map(|work| diver.oxygen.at(*work).map(|rate| rate.value.0)).collect();
    assert_eq!(oxygen, [Some(0.7), Some(1.0), Some(1.5), Some(2.2), Some(3.0)]);
    assert_eq!(of(&diver.fit_until).to_string(), "2027-12-31");
    close(&diver.lives_altitude_m, 40.0);
    assert_eq!(none(diver), ["lives_since", "model", "teaches"]);

    let [cells, flow] = &scope.routines["at the bench"].thing.steps[..] else { panic!("two steps") };
    assert_eq!(cells.name.value, "cells");
    assert_eq!(of(&cells.text), "Each cell in air within 2 % of its log");
    close(&flow.from, 10.4);
    close(&flow.to, 11.6);
}

#[test]
fn every_other_word_has_its_field_too() {
    let archive = sample();
    let file = id("every-word.plan.kdl");
    let slips: Vec<_> =
        archive.findings(&file).into_iter().filter(|f| f.rule == "unknown-word" || f.rule == "misplaced").collect();
    assert_eq!(slips, []);
    let plan = archive.plan(&file).unwrap();
    assert_eq!(plan.status, Status::Dived);
    let site = plan.site.as_ref().unwrap();
    close(&site.density, 1021.0);
    close(&site.altitude_m, 213.36);
    close(&site.surface_bar, 0.985);
    close(&site.temperature_c, 10.0);
    assert!(site.depth_by_line);
    assert_eq!(none(site), [""; 0]);
    assert!(LIMITS.iter().all(|limit| plan.limits.said(limit.name).is_some()));
    close(&plan.limits.set(LimitName::Unusable), 25.0);
    close(&plan.limits.set(LimitName::Depth), 33.0);
    close(&plan.limits.set(LimitName::Deco), 20.0);
    close(&plan.limits.set(LimitName::ShallowestStop), 6.0);
    close(&plan.limits.set(LimitName::Band), 1.5);
    close(&plan.limits.set(LimitName::React), 2.0);
    close(&plan.limits.set(LimitName::Po2Supply), 1.3);
    close(&plan.limits.set(LimitName::ExitPace), 0.8);
    close(&plan.limits.set(LimitName::ExitShare), 30.0);
    close(&plan.limits.set(LimitName::NarcosisDepth), 35.0);
    close(&plan.limits.set(LimitName::SafetyStop), 15.0 * 0.3048);
    close(&plan.limits.set(LimitName::SafetyStopMinutes), 4.0);
    close(&plan.limits.set(LimitName::StressUp), 2.0);
    close(&plan.limits.set(LimitName::BreathlessMinutes), 3.0);
    close(&plan.limits.set(LimitName::BreathlessFades), 4.0);
    close(&plan.limits.set(LimitName::Grid), 3.048);
    close(&plan.limits.set(LimitName::AscentRate), 10.0);
    close(&plan.limits.set(LimitName::AscentLast), 3.0);
    close(&plan.limits.set(LimitName::AscentWithin), 5.0);
    close(&plan.limits.set(LimitName::DescentRate), 66.0 * 0.3048);
    close(&plan.limits.set(LimitName::AbsorbentShare), 60.0);
    assert_eq!(
        (plan.limits.work(LimitName::WorkLegs), plan.limits.work(LimitName::WorkHome)),
        (Work::Light, Work::Rest)
    );
    close(&plan.limits.set(LimitName::FillingTemperature), 20.0);
    assert_eq!(plan.limits.amount(LimitName::StressAt).unwrap().text(), Some("heavy"));
    close(&plan.limits.set(LimitName::CurrencyMonths), 9.0);
    close(&plan.limits.set(LimitName::SupervisionStudents), 4.0);

    let night = plan.dives.iter().find(|dive| dive.name.value == "night").unwrap();
    let kinds: Vec<_> = night.legs.iter().map(|leg| leg.kind.word()).collect();
    let wanted = [
        "descend",
        "stay",
        "travel",
        "set-point",
        "flush",
        "off-loop",
        "on-loop",
        "off-loop",
        "on-loop",
        "switch",
        "stop",
        "bail-out",
        "ascend",
        "ascend",
    ];
    assert_eq!(kinds, wanted);
    // 60 feet of sea water as a pressure, 3.0643 kPa each, on an instrument of 10 kPa a metre.
    close(&night.legs[0].depth_m().cloned(), 60.0 * 0.306_43);
    close(&night.legs[0].rate().cloned(), 15.24);
    assert_eq!(of(&night.legs[0].work), Work::Heavy);
    assert!(matches!(&night.legs[1].kind, LegKind::Stay { minutes: None, until_min } if of(until_min) == 25.0));
    assert_eq!((of(&night.legs[1].way), of(&night.legs[2].way)), (Way::In, Way::Out));
    close(&night.legs[2].exit_min, 1.0);
    assert!(of(&night.team_bailout));
    let course = plan.taught.as_ref().unwrap();
    assert_eq!((course.name.value.as_str(), of(&plan.course)), ("first loop", "first loop".into()));
    close(&course.thing.depth_m, 80.0 * 0.3048);
    close(&course.thing.deco_min, 3.0);
    close(&night.legs[2].depth_m().cloned(), 18.0);
    assert!(matches!(&night.legs[2].kind, LegKind::Travel { minutes, .. } if of(minutes) == 1.5));
    assert!(matches!(&night.legs[3].kind, LegKind::SetPoint(said) if of(said) == SetPoint::Fraction(0.3)));
    assert!(matches!(&night.legs[4].kind, LegKind::Flush { volumes } if of(volumes) == 2.0));
    assert!(matches!(&night.legs[5].kind, LegKind::OffLoop { minutes, who: None } if of(minutes) == 3.0));
    assert!(matches!(&night.legs[9].kind, LegKind::Switch(to) if to.value == SwitchTo::Role(Role::Deco)));
    close(&night.legs[10].depth_m().cloned(), 6.0);
    assert!(matches!(&night.legs[10].kind, LegKind::Stop { minutes, .. } if of(minutes) == 3.0));
    close(&night.legs[10].rate().cloned(), 3.0);
    assert!(matches!(&night.legs[11].kind, LegKind::BailOut { who: Some(who) } if who.value == "Rowan"));

    let rowan = &night.divers[0];
    let carried: Vec<_> = rowan.cylinders.iter().map(|c| (c.role.value.word(), c.name.value.as_str())).collect();
    assert_eq!(carried, [("diluent", "S7-11"), ("oxygen", "S7-02")]);
    assert_eq!(of(&rowan.set_point), SetPoint::Bar(1.15));
    assert_eq!((of(&rowan.work), of(&rowan.role), rowan.legs.len()), (Work::Rest, "student".into(), 2));
    let dived = &night.dived[0];
    close(&dived.minutes, 52.0);
    close(&dived.depth_m, 29.4);
    close(&dived.cylinders[0].1, 205.0);
    close(&dived.cylinders[0].2, 1400.0 * 0.068_947_572_931_683_6);
    close(&dived.beds_min.0, 52.0);
    close(&dived.beds_min.1, 50.0);
    let prepared = &night.prepared[0];
    assert_eq!((prepared.diver.value.as_str(), prepared.defined.is_some(), prepared.done.len()), ("Rowan", true, 2));
    close(&prepared.done[1].value, 11.2);
    assert_eq!((of(&prepared.done[1].at).to_string(), of(&prepared.done[1].by)), ("08:05:00".into(), "Ines".into()));

    let scope = archive.scope(&file);
    let unit = &scope.units["loop-1"].thing;
    assert_eq!((of(&unit.kind), of(&unit.make_up), of(&unit.spill_compensated)), (ApparatusKind::Closed, false, true));
    close(&unit.inject_lpm, 10.0);
    close(&unit.loop_l, 0.25 * 28.316_846_592);
    close(&unit.make_up_max_lpm, 40.0);
    close(&unit.spill_ratio, 7.0);
    let beds: Vec<_> = unit.beds.iter().map(|bed| (bed.canister.value.as_str(), bed.moves_up)).collect();
    assert_eq!(beds, [("c-41", false), ("c-32", true), ("c-43", false)]);
    close(&unit.pre_breathe_min, 5.0);
    assert_eq!(of(&unit.mouthpiece), Some(Role::Diluent));
    assert_eq!(of(&unit.model), "otter");
    close(&unit.cells[0].readings[0].what.oxygen_bar, 1.6);
    assert_eq!(of(&unit.cells[0].made).to_string(), "2026-12-01");
    assert_eq!(of(&unit.cells[0].life), Life::Days(364));
    close(&unit.batteries[0].lasts_min, 1200.0);

    // 80 ft³ of free gas at 3000 psi gauge as an ideal gas: 80 × 28.316846592 L × 1.01325 bar ÷ 206.8427 bar = 11.097 L, what
    // makers print on cylinders of that name as 11.1 L (common practice, no source).
    let cylinder = &scope.cylinders["C80"].thing;
    close(&cylinder.size_l, 80.0 * 28.316_846_592 * 1.013_25 / (3000.0 * 0.068_947_572_931_683_6));
    assert!((of(&cylinder.size_l) - 11.1).abs() < 0.05);
    let fill = &cylinder.fills[0].what;
    assert_eq!(of(&fill.nominal), WrittenMix { o2_percent: 18.0, he_percent: 45.0 });
    assert_eq!(of(&fill.analysed), WrittenMix { o2_percent: 18.2, he_percent: 44.6 });
    close(&fill.temperature_c, 25.0);
    let read = &cylinder.gauges[0].what;
    close(&read.gauge_bar, 180.0);
    close(&read.temperature_c, 8.0);
    assert_eq!(of(&fill.analysed_on).to_string(), "2027-05-15");
    assert_eq!(of(&fill.analysed_by), "Ines");
    // What is measured on an easy dive is light work.
    let bo = &scope.divers["Bo"];
    assert_eq!(bo.thing.gas.at(Work::Light).unwrap().value.0, 18.0);
    assert_eq!(bo.usual.iter().map(|word| word.value.as_str()).collect::<Vec<_>>(), ["gas"]);
    let ada = &scope.divers["Ada"].thing;
    // Written in free litres; inside it is STPD, as what is beside it: 0.7 × 273.15 / 293.15 × 1 / 1.01325.
    assert!((ada.oxygen.at(Work::Rest).unwrap().value.0 - 0.7 * 273.15 / 293.15 / 1.013_25).abs() < 1e-12);
    assert_eq!(ada.oxygen.at(Work::Light).unwrap().value.0, 1.0);
    assert_eq!((of(&ada.trained[0].what.model), of(&ada.trained[0].what.teaches)), ("otter".into(), true));
    assert_eq!(of(&ada.lives_since).to_string(), "2027-05-01");
    assert!(Work::ALL.iter().all(|work| ada.gas.at(*work).is_some()));

    let waivers = &archive.word(&file).unwrap().waivers;
    let scopes: Vec<_> = waivers.iter().map(|w| (w.rule.value.as_str(), w.reason().unwrap(), w.scope.span)).collect();
    let text = archive.text(&file).unwrap();
    assert_eq!(scopes[0], ("depth-exceeded", "of this file's nature", leadsman::source::Span::new(0, text.len())));
    assert_eq!(scopes[1], ("cell-expired", "of the plan's", plan.whole.span));
    assert_eq!(scopes[2], ("cell-weak", "of the dive's", night.whole.span));
}

#[test]
fn the_house_has_its_say() {
    let house = r#"
use "crew.kit.kdl"
allow "cell-weak" because="spares are on their way"
limits { depth (ft)130; react 2 { allow "depth-exceeded" because="no" } }
level "descent-fast" error
level "battery-low" note because="we charge on the boat"
level "nonsense"
"#;
    let archive = archive(&[("leadsman.kdl", house), ("crew.kit.kdl", ""), ("x.plan.kdl", "plan \"x\"")]);
    let house = &archive.scope(&id("x.plan.kdl")).house;
    close(&house.limits.set(LimitName::Depth), 39.624);
    let levels: Vec<_> = house.levels.iter().map(|level| (level.rule.value.as_str(), level.level.value)).collect();
    assert_eq!(levels, [("descent-fast", Level::Error), ("battery-low", Level::Note)]);
    assert_eq!(house.levels[1].because.as_ref().unwrap().value, "we charge on the boat");
    assert_eq!(house.waivers.len(), 1, "only those at the top are for every file");
    assert_eq!(house.uses[0].file, Some(id("crew.kit.kdl")));
}

#[test]
fn what_cannot_be_read_is_left_out_and_panics_nobody() {
    let text = r#"
plan "x" on="2027-02-30" status=redy {
    site altitude="high" temperature=(bar)9 { depth }
    limits { gradient low=0.45 high=80; reserve (psi)"much" }
    interval 12
    interval
    dive {
        descend
        stay 99999999999999999999999999
        ascend "up"
        repeat 100 { repeat 100 { repeat 100 { stay 1 } } }
        repeat -4 { stay 1 }
        switch sideways
        diver
        diver "Rowan" set-point=5 supply= { cylinder role=deco; cylinder "S" role=flat }
    }
    interval 5
}
cylinder "S" size=(cuft)80 { fill 200 on="today" o2=32 he=many }
cylinder "T" size=(cuft)80 working=0
cylinder
unit "u" kind=other { cell "a" fitted="never" life=12 }
"#;
    let archive = archive(&[("x.plan.kdl", text)]);
    let plan = archive.plan(&id("x.plan.kdl")).unwrap();
    assert_eq!((plan.on.is_none(), plan.status), (true, Status::Draft));
    let site = plan.site.as_ref().unwrap();
    assert!(site.altitude_m.is_none() && site.temperature_c.is_none() && site.depth_m.is_none());
    assert!(plan.limits.set(LimitName::GradientLow).is_none() && plan.limits.set(LimitName::Reserve).is_none());
    close(&plan.limits.set(LimitName::GradientHigh), 80.0);
    assert_eq!(plan.intervals_min.len(), 0, "before the first dive and after the last there is no interval");
    let dive = &plan.dives[0];
    assert!(dive.legs.len() <= leadsman::plan::lower::MOST_LEGS);
    assert_eq!(
        dive.legs.iter().filter(|leg| matches!(leg.kind, LegKind::Ascend { .. })).count(),
        0,
        "a bad depth is no way home"
    );
    assert!(dive.divers[1].set_point.is_none());
    assert!(dive.divers[1].cylinders.is_empty());
    let scope = archive.scope(&id("x.plan.kdl"));
    let cylinder = &scope.cylinders["S"].thing;
    assert!(cylinder.size_l.is_none(), "free gas without a working pressure is no size");
    assert!(cylinder.fills[0].on.is_none());
    assert!(cylinder.fills[0].what.nominal.is_none(), "helium that can't be read is not no helium");
    assert!(scope.cylinders["T"].thing.size_l.is_none());
    assert!(scope.units["u"].thing.kind.is_none() && scope.units["u"].thing.cells[0].life.is_none());
    assert_eq!(scope.cylinders.len(), 2);
}
