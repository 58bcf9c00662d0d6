//! Single failures of a closed loop.

use leadsman::physics::Mix;
use leadsman::run::{
    Ascent, Body, Circuit, Closed, Exposure, Home, Leg, Margin, Outcome, Profile, Scenario, Trials, Trouble, WayOut,
    Why, Work, outcomes, story,
};

use super::dives::{CLOSED, WATER, cylinder, dive, lasting};
use super::near;

/// Twenty minutes at 20 m on a loop of 6 L at a set-point, with 12 L of 32 % to get out on.
fn at_20_m(set_point: f64, oxygen_lpm: f64, react_min: f64, circuit: Closed) -> Profile {
    let work = Work { oxygen_lpm, gas_lpm: 20.0 };
    let ascent = Ascent { rate_m_per_min: 9.0, last: None, work };
    let legs = vec![
        Leg::new(20.0, 2.0, work, Why::Asked(0)),
        Leg::new(20.0, 20.0, work, Why::Asked(1)),
        Leg::new(0.0, 20.0 / 9.0, work, Why::WayHome),
    ];
    let kit = vec![lasting(Mix::nitrox(1.0)), lasting(Mix::AIR), cylinder(12.0, Mix::nitrox(0.32), 200.0)];
    Profile {
        home: Home {
            way_out: vec![2, 1],
            out: Some(WayOut { problem_min: 2.0, problem: work, ascent, divers: 1.0, fade: None }),
            trials: Trials { react_min, ..Trials::default() },
            ascent,
            ..Home::default()
        },
        carried: Exposure { body: Some(Body::at_rest(WATER.surface_bar)), ..Exposure::default() },
        ..dive(Circuit::Closed(circuit), kit, Some(set_point), legs)
    }
}

fn all(dive: &Profile) -> Vec<Outcome> {
    let track = dive.run();
    outcomes(dive, &track, &dive.escapes(&track, &dive.home.out.unwrap()))
}

fn of(dive: &Profile, trouble: Trouble) -> Outcome {
    *all(dive).iter().find(|outcome| outcome.trouble == trouble).unwrap()
}

#[test]
fn a_closed_loop_meets_its_own_failures_and_no_others() {
    let names: Vec<&str> = all(&at_20_m(1.2, 1.5, 1.0, CLOSED)).iter().map(|outcome| outcome.trouble.name()).collect();
    let own = ["oxygen-shut", "oxygen-stuck-open", "diluent-lost", "cells-high", "cells-low"];
    assert_eq!(names[..5], own, "{names:?}");
    assert!(!names.contains(&"supply-lost") && !names.contains(&"controlled-feed-shut"), "{names:?}");
    assert!(names.iter().all(|name| Trouble::NAMES.contains(name)), "{names:?}");
}

/// With the oxygen shut the loop of 6 L, of 16.87 free litres at 3 bar and 34 °C, loses V·(1 − 0.21) of oxygen a minute: air
/// makes up the volume. At 3 bar that is 0.14·V bar. From 0.5, where a set-point of 0.7 is seen to fail, a diver who takes
/// 1.5 L/min is a minute later at 0.289 bar, one who takes 2.5 at 0.149: less than the 0.16 at which one may faint (worked
/// by hand).
#[test]
fn a_loop_whose_oxygen_is_shut_is_left_a_minute_after_it_is_seen() {
    let litres = 6.0 * (3.0 - 0.0533) * 293.15 / 307.15;
    near(litres, 16.87, 0.01);
    let least = |oxygen_lpm: f64| 0.5 - 3.0 * oxygen_lpm * 0.79 / litres;
    let light = at_20_m(0.7, 1.5, 1.0, CLOSED);
    assert!(of(&light, Trouble::OxygenShut).is_covered() && least(1.5) > 0.28);
    let hard = of(&at_20_m(0.7, 2.5, 1.0, CLOSED), Trouble::OxygenShut);
    let Margin::Oxygen { least_bar, .. } = hard.margin else { panic!("{hard:?}") };
    // Going up at once is worse than staying, as the pressure falls as well.
    assert!(!hard.is_covered() && least_bar <= least(2.5) + 2e-3 && least(2.5) < 0.16, "{least_bar} {}", least(2.5));
    // Whoever takes three minutes to react is worse off.
    assert!(!of(&at_20_m(0.7, 1.5, 3.0, CLOSED), Trouble::OxygenShut).is_covered());
    // At 1.2 bar there is time.
    assert!(of(&at_20_m(1.2, 2.5, 1.0, CLOSED), Trouble::OxygenShut).is_covered());
}

/// A valve stuck open takes 20 L/min to the loop: off it at the greatest PO2, at once.
#[test]
fn a_loop_whose_oxygen_runs_away_is_left_at_once() {
    let dive = at_20_m(1.2, 1.5, 3.0, CLOSED);
    let track = dive.run();
    let escapes = dive.escapes(&track, &dive.home.out.unwrap());
    let outcome = of(&dive, Trouble::OxygenStuckOpen);
    assert!(outcome.is_covered(), "{outcome:?}");
    let told = story(&dive, &track, &escapes, &outcome).unwrap();
    let most = told.extremes(outcome.t_min, &dive.limits).unwrap().greatest_po2_bar.0;
    near(most, 1.4, 1e-6);
    let drawn = |track: &leadsman::run::Track| dive.cylinders[0].full_l - track.at(outcome.t_min + 0.1).litres[0];
    assert!(drawn(&told) > drawn(&track) + 0.5, "{} {}", drawn(&told), drawn(&track));
}

/// Without diluent there is none to get out on either.
#[test]
fn diluent_that_is_lost_is_lost_for_the_way_out_too() {
    let mut dive = at_20_m(1.2, 1.5, 1.0, CLOSED);
    assert!(of(&dive, Trouble::DiluentLost).is_covered());
    let small = cylinder(1.0, Mix::nitrox(0.32), 100.0);
    dive.cylinders = vec![lasting(Mix::nitrox(1.0)), lasting(Mix::AIR), small].into();
    let lost = of(&dive, Trouble::DiluentLost);
    assert!(matches!(lost.margin, Margin::Gas(litres) if litres < 0.0), "{lost:?}");
}

/// Two cells that read a tenth low hold the loop at 1.5/0.9 = 1.67 bar, more than any gas is meant for; at 1.4 it is 1.56.
#[test]
fn cells_that_agree_in_being_wrong_are_never_seen() {
    let low = of(&at_20_m(1.5, 1.5, 1.0, CLOSED), Trouble::CellsLow);
    let Margin::TooMuchOxygen(bar) = low.margin else { panic!("{low:?}") };
    near(bar, 1.5 / 0.9, 1e-6);
    assert!(of(&at_20_m(1.4, 1.5, 1.0, CLOSED), Trouble::CellsLow).is_covered());
    assert!(of(&at_20_m(1.2, 1.5, 1.0, CLOSED), Trouble::CellsHigh).is_covered());
}
