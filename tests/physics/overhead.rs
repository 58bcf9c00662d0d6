//! Ways out from under something overhead, and cylinders side by side: worked by hand.

use leadsman::physics::{Mix, Water};
use leadsman::run::{
    Act, Ascent, Circuit, Home, Leg, Limits, Open, Profile, Purpose, Trials, Trouble, Way, WayOut, Why, Work, outcomes,
};
use proptest::prelude::*;

use super::dives::lasting;

const WATER: Water = Water { surface_bar: 1.0, bar_per_m: 0.1 };

fn breathing(gas_lpm: f64) -> Work {
    Work { oxygen_lpm: 1.0, gas_lpm }
}

/// Open circuit from so many alike cylinders: down to 20 m in a minute, in, out and up.
fn cave(cylinders: usize, in_min: f64, out_min: f64, pace: Option<f64>) -> Profile {
    let mut kit: Vec<_> = (0..cylinders).map(|_| lasting(Mix::AIR)).collect();
    if cylinders > 1 {
        kit.iter_mut().for_each(|cylinder| cylinder.twins = Some(0));
    }
    let ascent = Ascent { rate_m_per_min: 10.0, last: None, work: breathing(20.0) };
    let legs = vec![
        Leg::new(20.0, 1.0, breathing(20.0), Why::Asked(0)),
        Leg::new(20.0, in_min, breathing(30.0), Why::Asked(1)).going(Some(Way::In(None))),
        Leg::new(20.0, out_min, breathing(30.0), Why::Asked(2)).going(Some(Way::Out(in_min / out_min))),
        Leg::new(0.0, 2.0, breathing(20.0), Why::Asked(3)),
    ];
    let out = WayOut { problem_min: 2.0, problem: breathing(50.0), ascent, divers: 1.0, fade: None };
    Profile {
        water: WATER,
        home: Home { way_out: vec![0], out: Some(out), ascent, exit_pace: pace, ..Home::default() },
        limits: Limits::default(),
        others: [].into(),
        ..super::dives::dive(Circuit::Open(Open { cylinder: 0 }), kit, None, legs)
    }
}

fn taken_l(dive: &Profile, t_min: f64) -> (f64, f64) {
    let escape = dive.escape_from(dive.run().at(t_min), &dive.sources(), &dive.home.out.unwrap());
    (escape.draws_l.iter().sum(), escape.back_min)
}

/// At 20 m, 3 bar: 2 min at 50 L/min, the way back at the 30 of the way in, then up through 2 bar in the mean at 20.
#[test]
fn the_way_out_is_the_way_in_and_the_way_up() {
    let dive = cave(1, 15.0, 15.0, None);
    let up = 2.0 * 20.0 * 2.0;
    for (t_min, back_min) in [(1.0, 0.0), (7.0, 6.0), (16.0, 15.0), (26.0, 5.0), (31.0, 0.0)] {
        let (litres, back) = taken_l(&dive, t_min);
        assert!((back - back_min).abs() < 1e-9, "{t_min}: {back}");
        assert!((litres - (2.0 * 50.0 * 3.0 + back_min * 30.0 * 3.0 + up)).abs() < 1e-6, "{t_min}: {litres}");
    }
    // Half as fast it takes twice as long; out in half the time each minute undoes two.
    assert!((taken_l(&cave(1, 15.0, 15.0, Some(0.5)), 16.0).1 - 30.0).abs() < 1e-9);
    assert!((taken_l(&cave(1, 15.0, 7.5, None), 18.5).1 - 10.0).abs() < 1e-9);
}

/// Of two alike each gives half, and losing one leaves the other.
#[test]
fn two_side_by_side_are_breathed_evenly() {
    let (one, two) = (cave(1, 15.0, 15.0, None).run(), cave(2, 15.0, 15.0, None).run());
    let used = |cylinder: usize| two.used_l(cylinder, Purpose::OpenCircuit);
    assert!((used(0) - used(1)).abs() < 1e-6 && (used(0) + used(1) - one.used_l(0, Purpose::OpenCircuit)).abs() < 1e-6);
    let mut dive = cave(2, 15.0, 15.0, None);
    dive.home.trials = Trials::default();
    let track = dive.run();
    let lost = outcomes(&dive, &track, &dive.escapes(&track, &dive.home.out.unwrap()));
    let lost: Vec<_> = lost.iter().filter(|outcome| matches!(outcome.trouble, Trouble::TwinLost(_))).collect();
    assert_eq!(lost.len(), 1);
    assert!(lost[0].is_covered());
}

/// A stage left five minutes in is no gas farther in, and is there again on the way back. From the end of fifteen minutes in:
/// 2 min at 50 L/min and 10 min back at 30 from the back cylinder, at 3 bar, 1200 L; then from the stage the last 5 min, 450 L,
/// and the way up, 80 L. Before it was left, all from it (worked by hand).
#[test]
fn a_stage_is_there_again_on_the_way_back() {
    let mut dive = cave(1, 15.0, 15.0, None);
    dive.cylinders = vec![lasting(Mix::AIR), lasting(Mix::AIR)].into();
    dive.home.way_out = vec![1, 0];
    let [down, way_in, out, up] = dive.legs[..] else { panic!("{:?}", dive.legs) };
    let part = |minutes: f64| Leg { lasts_min: minutes, ..way_in };
    let here = |act: Act| Leg::new(20.0, 0.0, breathing(30.0), Why::Asked(1)).doing(act);
    dive.legs = vec![down, part(5.0), here(Act::LayDown(1)), part(10.0), Leg { lasts_min: 15.0, ..out }, up];
    let draws = |dive: &Profile, t_min: f64| {
        dive.escape_from(dive.run().at(t_min), &dive.sources(), &dive.home.out.unwrap()).draws_l
    };
    for (t_min, back, stage) in [(16.0, 1200.0, 530.0), (4.0, 0.0, 650.0), (11.0, 750.0, 530.0)] {
        let draws = draws(&dive, t_min);
        assert!((draws[0] - back).abs() < 1e-6 && (draws[1] - stage).abs() < 1e-6, "{t_min}: {draws:?}");
    }
    // Past it and not taken up it lies behind; taken up it is with the diver.
    let past = 16.0 + 12.0;
    assert_eq!(draws(&dive, past)[1], 0.0);
    dive.legs.splice(4..5, [part(10.0), part(5.0)].map(|leg| Leg { way: out.way, ..leg }));
    dive.legs.insert(5, here(Act::TakeUp(1)));
    assert!(draws(&dive, past)[1] > 300.0 && draws(&dive, past)[0] == 0.0);
}

proptest! {
    #![proptest_config(crate::seed::properties(64))]

    /// Farther in the way out never takes less, and a slower pace never takes less.
    #[test]
    fn farther_in_never_takes_less(in_min in 1.0..60.0_f64, more in 0.0..30.0_f64, pace in 0.3..1.0_f64) {
        let ends = |minutes: f64| 1.0 + minutes;
        let near = taken_l(&cave(1, in_min, in_min, None), ends(in_min));
        let far = taken_l(&cave(1, in_min + more, in_min, None), ends(in_min + more));
        prop_assert!(far.0 >= near.0 - 1e-9 && far.1 >= near.1 - 1e-9);
        let slow = taken_l(&cave(1, in_min, in_min, Some(pace)), ends(in_min));
        prop_assert!(slow.0 >= near.0 - 1e-9);
    }
}
