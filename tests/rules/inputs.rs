//! From a plan to a run: what is taken from where, what is named when it lacks, and what is never run twice.

use std::sync::Arc;

use leadsman::archive::{Archive, Change};
use leadsman::forecast::{Day, Missing, Simulated};
use leadsman::physics::litres::free_from_stpd;
use leadsman::physics::loop_balance::Feed;
use leadsman::physics::{Mix, SetPoint, Water};
use leadsman::plan::{Role, Work};
use leadsman::run::{Act, Circuit, EventKind, Profile, Purpose, Why};
use leadsman::source::{FileId, Text};

use super::unsaved;

pub const KIT: &str = r#"
unit "fen-3" kind=semi-closed {
    loop 5
    feed constant=11 controlled=13
    make-up yes
    floor o2=22
    mouthpiece open-circuit=supply
    bed "c-31"
}
canister "c-31" {
    rated minutes=180 co2=1.2 temperature=21.1
    used 5 on="2027-05-14"
}
cylinder "S12-04" size=12 { fill 205 on="2027-05-14" o2=35 analysed=34.8; }
cylinder "S7-14" size=7 { fill 200 on="2027-05-14" o2=36; }
diver "Rowan" {
    gas rest=16 peak=60
    oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0
}
"#;

pub fn archive(kit: &str, dive: &str) -> (Archive, FileId) {
    let plan = format!(
        "{kit}\nplan \"Grüner Grund\" on=\"2027-05-15\" {{\n    site temperature=21.1 surface=1.0\n    dive \"one\" {{\n{dive}\n    }}\n}}\n"
    );
    let (archive, files) = unsaved(&[("a.plan.kdl".to_owned(), plan)]);
    (archive, files[0].clone())
}

/// What is made of the plan's dives, each in order.
pub fn all<T>(archive: &Archive, file: &FileId, look: impl Fn(Result<Simulated<'_>, Vec<Missing>>) -> T) -> Vec<T> {
    let (plan, scope) = (archive.plan(file).unwrap(), archive.scope(file));
    let earlier = archive.earlier(file);
    Day::of(&scope, archive.runs(), &plan, &earlier).iter().map(|(_, simulated)| look(simulated.clone())).collect()
}

fn one<T>(kit: &str, dive: &str, look: impl Fn(Simulated<'_>) -> T) -> T {
    let (archive, file) = archive(kit, dive);
    all(&archive, &file, |simulated| look(simulated.unwrap())).remove(0)
}

fn lacking(kit: &str, dive: &str) -> Vec<String> {
    let (archive, file) = archive(kit, dive);
    let facts = |simulated: Result<Simulated<'_>, Vec<Missing>>| simulated.unwrap_err();
    all(&archive, &file, facts).remove(0).into_iter().map(|missing| missing.fact).collect()
}

const MORNING: &str = r#"
    descend 30 rate=15
    stay 20 work=light
    ascend 21 rate=9
    stay until=40 work=moderate
    stop 6 minutes=3
    ascend
    diver "Rowan" unit="fen-3" supply="S12-04" bailout="S7-14" set-point=26
"#;

#[test]
fn a_dive_is_what_plan_and_kit_say() {
    one(KIT, MORNING, |simulated| {
        let dive = &simulated.ran.dive;
        let Circuit::SemiClosed(unit) = dive.circuit else { panic!("semi-closed") };
        assert_eq!((unit.loop_l, unit.make_up_lpm, unit.supply), (5.0, f64::INFINITY, 0));
        assert_eq!(unit.feed, Feed { constant_lpm: 11.0, controlled_lpm: 13.0 });
        assert_eq!(dive.water.surface_bar, 1.0);
        assert!((dive.water.bar_per_m - Water::default().bar_per_m).abs() < 1e-15);
        assert_eq!(
            (dive.set_point, dive.pre_breathe_min, dive.inflates),
            (Some(SetPoint::Fraction(0.26)), 5.0, Some(0))
        );
        // The leaner of what was ordered and what was analysed feeds the loop, the richer counts for oxygen clocks.
        assert!((dive.cylinders[0].mix.o2 - 0.348).abs() < 1e-12);
        assert!((simulated.ran.rich_mix_dive().cylinders[0].mix.o2 - 0.35).abs() < 1e-12);
        assert_eq!(dive.cylinders[1].mix, Mix::nitrox(0.36));
        assert_eq!((dive.limits.floor_o2, dive.limits.band_o2), (0.22, 0.01));
        // Two thirds of 180 minutes, 5 of them used.
        assert!((dive.limits.absorbent_min - 115.0).abs() < 1e-9);
        let legs: Vec<(f64, f64)> = dive.legs.iter().map(|leg| (leg.to_m, leg.lasts_min)).collect();
        let until_forty = 40.0 - 2.0 - 20.0 - 1.0;
        let wanted = [
            (30.0, 2.0),
            (30.0, 20.0),
            (21.0, 1.0),
            (21.0, until_forty),
            (6.0, 15.0 / 9.0),
            (6.0, 3.0),
            (0.0, 6.0 / 9.0),
        ];
        assert_eq!(legs.len(), wanted.len());
        for (leg, wanted) in legs.iter().zip(wanted) {
            assert!(leg.0 == wanted.0 && (leg.1 - wanted.1).abs() < 1e-9, "{leg:?} {wanted:?}");
        }
        // Metabolic oxygen is STPD as written, free in the run.
        assert!((dive.legs[1].work.oxygen_lpm - free_from_stpd(1.0)).abs() < 1e-12);
        let (begins, ends) = simulated.leg_min(4).unwrap();
        assert!((begins - 40.0).abs() < 1e-9 && (ends - 40.0 - 15.0 / 9.0 - 3.0).abs() < 1e-9);
        assert_eq!(simulated.leg_min(6), None);
        assert_eq!((simulated.of_role(Role::Bailout), simulated.of_role(Role::Supply)), (Some(1), Some(0)));
    });
}

#[test]
fn the_constant_feed_has_its_ends_unless_it_was_measured() {
    let constant = |dive: &Profile| match dive.circuit {
        Circuit::SemiClosed(unit) => unit.feed.constant_lpm,
        _ => f64::NAN,
    };
    one(KIT, MORNING, |simulated| {
        let ran = &simulated.ran;
        assert!((constant(&ran.low_feed_dive()) - 9.9).abs() < 1e-12);
        assert!((constant(&ran.high_feed_dive()) - 12.1).abs() < 1e-12);
        let used = |litres: &[f64]| ran.dive.cylinders[0].full_l - litres[0];
        assert!(used(&ran.low_feed().end.litres) < used(&ran.track.end.litres));
        assert!(used(&ran.track.end.litres) < used(&ran.high_feed().end.litres));
    });
    let measured = KIT.replace("make-up yes", "make-up yes; flow 11.2 on=\"2027-05-15\"");
    one(&measured, MORNING, |simulated| {
        assert_eq!(constant(&simulated.ran.low_feed_dive()), 11.2);
        assert_eq!(constant(&simulated.ran.high_feed_dive()), 11.2);
        assert_eq!(simulated.ran.low_feed(), &simulated.ran.track);
    });
}

#[test]
fn drills_switches_and_bail_outs_go_over_to_what_is_carried() {
    let dive = r#"
    repeat 2 { descend 10; stay 5; }
    set-point 30
    flush
    off-loop minutes=2
    on-loop
    switch "bailout"
    stay 1
    switch "supply"
    bail-out who="Ines"
    bail-out
    on-loop
    ascend
    diver "Rowan" unit="fen-3" supply="S12-04" bailout="S7-14" set-point=26 work=heavy
"#;
    one(KIT, dive, |simulated| {
        let acts: Vec<Act> =
            simulated.ran.dive.legs.iter().map(|leg| leg.act).filter(|act| *act != Act::None).collect();
        let (lever, bailout, on) = (Act::Breathe(1), Act::Breathe(2), Act::Breathe(0));
        // The drill is on what the mouthpiece gives, the way out on the diver's own bailout, and nobody goes back.
        assert_eq!(acts, [Act::SetPoint(SetPoint::Fraction(0.3)), Act::Flush(1.0), lever, on, bailout, on, bailout]);
        let legs = &simulated.ran.dive.legs;
        assert_eq!(legs.iter().filter(|leg| leg.why == Why::Asked(1)).count(), 1);
        assert!((legs[1].work.oxygen_lpm - free_from_stpd(2.2)).abs() < 1e-12);
        assert!(simulated.ran.track.first(EventKind::Flushed).is_some());
        assert!(simulated.ran.track.end.depth_m().abs() < 1e-9);
    });
}

#[test]
fn what_ends_under_water_goes_straight_home() {
    let dive = r#"descend 18
    stay 5
    diver "Rowan" unit="fen-3" supply="S12-04" set-point=26"#;
    one(KIT, dive, |simulated| {
        let last = *simulated.ran.dive.legs.last().unwrap();
        assert_eq!((last.to_m, last.lasts_min, last.why), (0.0, 2.0, Why::WayHome));
    });
}

#[test]
fn facts_that_lack_are_named() {
    let without = |fact: &str| lacking(&KIT.replace(fact, ""), MORNING);
    assert_eq!(without("make-up yes"), ["`make-up` of unit \"fen-3\""]);
    assert_eq!(without("loop 5"), ["the `loop` volume of unit \"fen-3\""]);
    assert_eq!(without("feed constant=11 controlled=13"), ["the `feed` of unit \"fen-3\""]);
    assert_eq!(
        without("oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0"),
        ["`oxygen rest=` of diver \"Rowan\""]
    );
    assert_eq!(without("o2=35 analysed=34.8"), ["the mix (`o2=`) of cylinder \"S12-04\""]);
    assert_eq!(lacking(KIT, &MORNING.replace(" set-point=26", "")), ["the `set-point` of diver \"Rowan\""]);
    // A cylinder that is not breathed from on the dive as planned does not keep it from being run.
    let kit = KIT.replace("size=7", "");
    one(&kit, MORNING, |simulated| {
        let facts: Vec<&str> = simulated.lacking.iter().map(|missing| &*missing.fact).collect();
        assert_eq!(facts, ["`size=` of cylinder \"S7-14\""]);
        assert_eq!(simulated.kit.len(), 1);
    });
    let bails_out = MORNING.replace("stop 6 minutes=3", "bail-out");
    assert_eq!(lacking(&kit, &bails_out), ["`size=` of cylinder \"S7-14\""]);
    assert_eq!(
        lacking(&KIT.replace("gas rest=16 peak=60", ""), &bails_out),
        ["`gas rest=` and `peak=` of diver \"Rowan\""]
    );
}

#[test]
fn on_open_circuit_oxygen_need_not_be_known() {
    let kit = KIT.replace("oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0", "");
    let dive = "descend 18; stay 5 work=rest; ascend; diver \"Rowan\" back=\"S12-04\"";
    one(&kit, dive, |simulated| {
        let leg = simulated.ran.dive.legs[1];
        assert_eq!(leg.work.gas_lpm, 16.0);
        assert_eq!(simulated.ran.track.legs.len(), 3);
    });
}

/// A comment, a moved line and another diver's own line change no dive; a fill does.
#[test]
fn what_is_the_same_dive_is_run_once() {
    let (before, file) = archive(KIT, MORNING);
    let run = |archive: &Archive| {
        all(archive, &file, |simulated| Arc::downgrade(&simulated.unwrap().ran)).remove(0).upgrade().unwrap()
    };
    let first = run(&before);
    let text = before.text(&file).unwrap().as_str().to_owned();
    let with = |text: String| before.with(&[Change::Open(file.clone(), Text::new(&text))]);
    assert!(Arc::ptr_eq(&first, &run(&with(format!("// größer\n\n{text}")))));
    assert!(Arc::ptr_eq(&first, &run(&with(text.replace("Rowan", "Zoë")))));
    assert!(!Arc::ptr_eq(&first, &run(&with(text.replace("fill 205", "fill 204")))));
    assert!(!Arc::ptr_eq(&first, &run(&with(text.replace("stay 20", "stay 21")))));
}

/// The work per level that a run is given is the diver's, for every level.
#[test]
fn levels_between_go_with_oxygen() {
    for (work, gas) in [(Work::Rest, 16.0), (Work::Light, 16.0 + 44.0 * 0.3 / 2.3), (Work::Peak, 60.0)] {
        let dive = MORNING.replace("work=light", &format!("work={}", work.word()));
        one(KIT, &dive, |simulated| assert!((simulated.ran.dive.legs[1].work.gas_lpm - gas).abs() < 1e-9));
    }
}

/// A level that is left out is scaled by the diver's own oxygen, as far as that is written: whoever needs much for hard work
/// breathes much there, whether or not another level's oxygen is known.
#[test]
fn levels_left_out_keep_the_divers_own_ratio() {
    let gas = |oxygen: &str| {
        let kit = KIT
            .replace("gas rest=16 peak=60", "gas light=20")
            .replace("oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0", oxygen);
        let dive = MORNING.replace("work=moderate", "work=heavy");
        one(&kit, &dive, |simulated| simulated.ran.dive.legs[3].work.gas_lpm)
    };
    // 20·2.4/0.8 by the levels' own ratio, whatever else is written.
    for oxygen in
        ["light=0.8 heavy=2.4", "rest=0.6 light=0.8 heavy=2.4", "rest=0.6 light=0.8 moderate=1.5 heavy=2.4 peak=3.2"]
    {
        let oxygen =
            if oxygen.contains("rest") { format!("oxygen {oxygen}") } else { format!("oxygen rest=0.6 {oxygen}") };
        assert!((gas(&oxygen) - 60.0).abs() < 1e-9, "{oxygen}: {}", gas(&oxygen));
    }
}

/// Nothing a plan can hold makes the run go on without end.
#[test]
fn hostile_numbers_end() {
    for (what, instead) in [
        ("stay 20", "stay 100000"),
        ("descend 30", "descend 400"),
        ("descend 30", "descend -5"),
        ("stay 20", "stay -20"),
        ("rate=15", "rate=0"),
        ("set-point=26", "set-point=1e300"),
    ] {
        let (archive, file) = archive(KIT, &MORNING.replace(what, instead));
        for ran in all(&archive, &file, |simulated| simulated.map(|simulated| simulated.ran)).into_iter().flatten() {
            let limits = ran.dive.limits;
            assert!(ran.track.end.t_min.is_finite() && ran.track.segments.len() <= limits.segments, "{instead}");
        }
        assert!(!archive.findings(&file).is_empty());
    }
}

const OTHERS: &str = r#"
unit "moor-2" kind=passive { loop 7; spill ratio=10; }
unit "tarn-1" kind=closed inject=3 { loop 6; pre-breathe 4; }
cylinder "D3-1" size=3 { fill 200 on="2027-05-14" o2=18 he=45; }
cylinder "O3-1" size=3 { fill 190 on="2027-05-14" o2=100; }
"#;

#[test]
fn a_passive_loop_spills_from_its_supply() {
    let kit = format!("{KIT}{OTHERS}");
    let dive = "descend 20; stay 30; ascend; diver \"Rowan\" unit=\"moor-2\" supply=\"S12-04\"";
    one(&kit, dive, |simulated| {
        let Circuit::Passive(unit) = simulated.ran.dive.circuit else { panic!("passive") };
        assert_eq!((unit.loop_l, unit.ratio, unit.compensated, unit.adds), (7.0, 10.0, false, true));
        assert_eq!((simulated.ran.dive.set_point, simulated.ran.dive.pre_breathe_min), (None, 5.0));
        let track = &simulated.ran.track;
        assert!(track.used_l(0, Purpose::Spill) > 0.0 && track.end.litres[0] < track.start().litres[0]);
    });
    let without = lacking(&kit.replace("spill ratio=10", ""), dive);
    assert_eq!(without, ["`spill ratio=` of unit \"moor-2\""]);
}

#[test]
fn a_closed_loop_takes_oxygen_and_diluent() {
    let kit = format!("{KIT}{OTHERS}");
    let dive = "descend 40; stay 10; set-point 1.0; ascend; diver \"Rowan\" unit=\"tarn-1\" diluent=\"D3-1\" oxygen=\"O3-1\" set-point=1.3";
    one(&kit, dive, |simulated| {
        let Circuit::Closed(unit) = simulated.ran.dive.circuit else { panic!("closed") };
        assert_eq!((unit.loop_l, unit.inject_lpm, unit.make_up_lpm), (6.0, 3.0, f64::INFINITY));
        assert_eq!((unit.diluent, unit.oxygen), (0, 1));
        let run = &simulated.ran.dive;
        assert_eq!((run.set_point, run.pre_breathe_min, run.inflates), (Some(SetPoint::Bar(1.3)), 4.0, Some(0)));
        assert_eq!(run.cylinders[0].mix, Mix { o2: 0.18, he: 0.45 });
        let (_, ends) = simulated.leg_min(1).unwrap();
        let held = simulated.ran.track.segment_at(ends - 1.0).unwrap();
        assert!((held.po2_at(0.0) - 1.3).abs() < 1e-9);
    });
    assert_eq!(lacking(&kit.replace(" inject=3", ""), dive), ["`inject=` of unit \"tarn-1\""]);
    let bars = dive.replace("set-point=1.3", "set-point=26");
    assert_eq!(lacking(&kit, &bars), Vec::<String>::new());
    assert_eq!(lacking(&kit, &dive.replace(" oxygen=\"O3-1\"", "")), ["a `oxygen` cylinder of diver \"Rowan\""]);
}

#[test]
fn of_two_stage_gases_the_richest_that_may_be_breathed_is_taken() {
    let kit = format!("{KIT}{OTHERS}cylinder \"S7-50\" size=7 {{ fill 200 on=\"2027-05-14\" o2=50; }}\n");
    let dive = "descend 40; stay 5; ascend 21; switch \"deco\"; ascend 6; switch \"deco\"; stay 5; ascend
    diver \"Rowan\" back=\"S12-04\" { cylinder \"O3-1\" role=deco; cylinder \"S7-50\" role=deco; }";
    one(&kit, dive, |simulated| {
        let taken: Vec<&str> = simulated
            .ran
            .dive
            .legs
            .iter()
            .filter_map(|leg| match leg.act {
                Act::Breathe(source) => Some(&*simulated.kit[source - 1].name.value),
                _ => None,
            })
            .collect();
        assert_eq!(taken, ["S7-50", "O3-1"]);
    });
}

#[test]
fn suit_and_wing_are_filled_from_what_the_plan_says() {
    for (says, cylinder) in [("", Some(0)), (" inflates=bailout", Some(1)), (" inflates=none", None)] {
        one(KIT, &MORNING.replace(" set-point=26", &format!(" set-point=26{says}")), |simulated| {
            assert_eq!(simulated.ran.dive.inflates, cylinder, "{says}");
            let used: Vec<f64> = (0..2).map(|number| simulated.ran.track.used_l(number, Purpose::Inflation)).collect();
            assert!((0..2).all(|number| (used[number] > 0.0) == (cylinder == Some(number))), "{says}: {used:?}");
        });
    }
    let deco = MORNING.replace(" set-point=26", " set-point=26 inflates=deco");
    assert_eq!(lacking(KIT, &deco), ["a `deco` cylinder of diver \"Rowan\""]);
}
