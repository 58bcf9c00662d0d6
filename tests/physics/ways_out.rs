//! The way out on open circuit, from any moment.

use leadsman::physics::Mix;
use leadsman::physics::tissues::Gradients;
use leadsman::run::{
    Ascent, Body, Circuit, Cylinder, Escape, Exposure, Fade, Home, Leg, Open, Profile, Scenario, Stops, Trouble, Way,
    WayOut, Why, Work,
};
use proptest::prelude::*;

use super::dives::{SEMI_CLOSED, WATER, cylinder, dive};
use super::near;

fn breathing(gas_lpm: f64) -> Work {
    Work { oxygen_lpm: 0.7, gas_lpm }
}

/// A stay on the semi-closed unit of the worked examples, and a way out at 45 L/min, then 24.
fn on_a_loop(kit: Vec<Cylinder>, way_out: &[usize], depth_m: f64, stay_min: f64, stops: Option<Stops>) -> Profile {
    let ascent = Ascent { rate_m_per_min: 9.0, last: None, work: breathing(24.0) };
    let legs = vec![
        Leg::new(depth_m, depth_m / 15.0, breathing(20.0), Why::Asked(0)),
        Leg::new(depth_m, stay_min, breathing(20.0), Why::Asked(1)),
    ];
    Profile {
        home: Home {
            stops,
            way_out: way_out.to_vec(),
            out: Some(WayOut { problem_min: 2.0, problem: breathing(45.0), ascent, divers: 1.0, fade: None }),
            ascent,
            ..Home::default()
        },
        carried: Exposure { body: Some(Body::at_rest(WATER.surface_bar)), ..Exposure::default() },
        ..dive(Circuit::SemiClosed(SEMI_CLOSED), kit, Some(0.27), legs)
    }
}

fn at_the_end(dive: &Profile) -> Escape {
    let track = dive.run();
    dive.escape_from(track.end.clone(), &dive.sources(), &dive.home.out.unwrap())
}

/// Out of breath from 20 m: 75 L/min that fall by 10.2 a minute, to 24 after five. On the way up of 20/9 min at 3 − 0.9·t
/// bar that is the integral of (75 − 10.2·t)(3 − 0.9·t) = 225·t − 98.1·t²/2 + 9.18·t³/3: 291.4 L, after 2·75·3 = 450 L to
/// solve the problem (worked by hand).
#[test]
fn breathing_comes_down_on_the_way_up() {
    let mut dive = on_a_loop(vec![cylinder(12.0, Mix::nitrox(0.36), 200.0); 2], &[1], 20.0, 5.0, None);
    let out = dive.home.out.unwrap();
    dive.home.out = Some(WayOut {
        problem: Work { gas_lpm: 75.0, ..out.problem },
        fade: Some(Fade { from_lpm: 75.0, minutes: 5.0 }),
        ..out
    });
    let escape = at_the_end(&dive);
    let t = 20.0 / 9.0_f64;
    let by_hand = 450.0 + 225.0 * t - 98.1 * t * t / 2.0 + 9.18 * t * t * t / 3.0;
    near(by_hand, 741.36, 0.01);
    near(escape.draws_l[1], by_hand, 0.5);
    near(escape.minutes, 2.0 + t, 1e-9);
    // Over at once, it is the usual way up.
    dive.home.out = dive.home.out.map(|out| WayOut { fade: Some(Fade { from_lpm: 75.0, minutes: 0.0 }), ..out });
    near(at_the_end(&dive).draws_l[1], 450.0 + 24.0 * 2.0 * t, 1e-6);
    // Where stops hold the diver, their minutes are the same as without.
    let deco =
        Some(Stops { gradients: Gradients::from_percent(30.0, 70.0), shallowest_m: 3.0, grid_m: 3.0, safety: None });
    let mut long = on_a_loop(vec![cylinder(18.0, Mix::nitrox(0.28), 230.0); 2], &[1], 30.0, 40.0, deco);
    let even = at_the_end(&long);
    long.home.out = long.home.out.map(|out| WayOut { fade: Some(Fade { from_lpm: 45.0, minutes: 5.0 }), ..out });
    let fading = at_the_end(&long);
    near(fading.minutes, even.minutes, 1e-9);
    assert!(fading.draws_l[1] > even.draws_l[1] + 50.0, "{fading:?} {even:?}");
}

/// From 30 m: 2·45·4 = 360 L to solve the problem, 30/9 min up on 24 L/min at a mean of 2.5 bar are 200 L (worked by
/// hand). Where the first cylinder gives 300 of them the next one gives the rest.
#[test]
fn a_way_out_without_stops_is_worked_by_hand() {
    let full = || cylinder(12.0, Mix::nitrox(0.36), 200.0);
    let escape = at_the_end(&on_a_loop(vec![full(), full()], &[1, 0], 30.0, 10.0, None));
    near(escape.minutes, 2.0 + 30.0 / 9.0, 1e-9);
    near(escape.draws_l[1], 560.0, 1e-6);
    near(escape.draws_l[0], 0.0, 1e-9);
    assert_eq!(escape.lacks_l, 0.0);

    let mut small = full();
    small.full_l = small.unusable_l + 300.0;
    let escape = at_the_end(&on_a_loop(vec![full(), small.clone()], &[1, 0], 30.0, 10.0, None));
    near(escape.draws_l[1], 300.0, 1e-6);
    near(escape.draws_l[0], 260.0, 1e-6);
    assert_eq!(escape.lacks_l, 0.0);

    // Alone it lacks the rest.
    let escape = at_the_end(&on_a_loop(vec![full(), small], &[1], 30.0, 10.0, None));
    near(escape.lacks_l, 260.0, 1e-6);
    // With nothing to breathe there is no way out.
    assert_eq!(at_the_end(&on_a_loop(vec![full()], &[], 30.0, 10.0, None)).lacks_l, f64::INFINITY);
}

/// Nearer than 10 m to the surface a diver whom no stop holds goes up at once (common practice, no source): from 9 m a minute
/// on 24 L/min at a mean of 1.45 bar, from 10 m 2·45·2 L before 10/9 min at 1.5 bar; worked by hand.
#[test]
fn nobody_waits_near_the_surface_whom_nothing_holds() {
    let from = |depth_m: f64, stay_min: f64, stops: Option<Stops>| {
        let full = cylinder(12.0, Mix::nitrox(0.36), 200.0);
        at_the_end(&on_a_loop(vec![full.clone(), full], &[1], depth_m, stay_min, stops))
    };
    for stops in [
        None,
        Some(Stops { gradients: Gradients::from_percent(40.0, 85.0), shallowest_m: 3.0, grid_m: 3.0, safety: None }),
    ] {
        let (near_surface, deeper) = (from(9.0, 10.0, stops), from(10.0, 10.0, stops));
        near(near_surface.draws_l[1], 34.8, 1e-6);
        assert_eq!(near_surface.problem_min, 0.0);
        near(deeper.draws_l[1], 180.0 + 40.0, 1e-6);
        assert_eq!(deeper.problem_min, 2.0);
    }
    // Whom a stop holds waits: after a day at 9 m under a strict gradient.
    let strict =
        Some(Stops { gradients: Gradients::from_percent(5.0, 10.0), shallowest_m: 3.0, grid_m: 3.0, safety: None });
    let held = from(9.0, 1000.0, strict);
    assert!(held.problem_min == 2.0 && held.minutes > 3.0, "{held:?}");
}

/// Deco gas is breathed from its depth up and not before.
#[test]
fn deco_gas_is_breathed_where_it_may_be() {
    let mut half = cylinder(7.0, Mix::nitrox(0.5), 200.0);
    half.filled.greatest_po2_bar = 1.6;
    let mut lean = cylinder(12.0, Mix::nitrox(0.3), 200.0);
    lean.filled.greatest_po2_bar = 1.6;
    let kit = vec![lean.clone(), half, lean];
    let stops =
        Some(Stops { gradients: Gradients::from_percent(30.0, 80.0), shallowest_m: 3.0, grid_m: 3.0, safety: None });
    let dive = on_a_loop(kit, &[1, 2, 0], 36.0, 30.0, stops);
    let track = dive.run();
    let out = dive.bail_out_from(track.end.clone(), &dive.sources(), &dive.home.out.unwrap());
    assert!(out.surfaced());
    for segment in &out.segments {
        let deepest = segment.start.bar.max(segment.bar_at(segment.minutes));
        let deco = segment.start.source == Open::source(1);
        assert!(!deco || 0.5 * deepest <= 1.6 + 1e-9, "on deco gas at {deepest} bar");
        // 21 m is the first depth of the grid where it may be breathed: 0.5·3.1 = 1.55 bar.
        assert!(deco || deepest > 3.0 - 1e-9, "not on deco gas at {deepest} bar");
    }
}

proptest! {
    #![proptest_config(crate::seed::properties(32))]

    #[test]
    fn a_smaller_or_emptier_cylinder_never_helps(
        depth in 12.0..45.0_f64, stay in 1.0..40.0_f64, first in 30.0..220.0_f64, second in 30.0..220.0_f64,
        share in 0.3..1.0_f64, which in 0..2_usize,
    ) {
        let stops = Some(Stops { gradients: Gradients::from_percent(40.0, 80.0), shallowest_m: 3.0, grid_m: 3.0, safety: None });
        let lacks = |first: f64, second: f64, size: f64| {
            let mix = Mix::nitrox(0.3);
            let feed = cylinder(1000.0, mix, 200.0);
            let kit = vec![feed, cylinder(5.0, mix, first), cylinder(size, mix, second)];
            at_the_end(&on_a_loop(kit, &[1, 2], depth, stay, stops)).lacks_l
        };
        let planned = lacks(first, second, 7.0);
        let emptier = if which == 0 { lacks(first * share, second, 7.0) } else { lacks(first, second * share, 7.0) };
        prop_assert!(emptier >= planned - 1e-6, "{emptier} < {planned}");
        prop_assert!(lacks(first, second, 7.0 * share) >= planned - 1e-6);
    }

    /// The further on in a stay, the more the way out takes.
    #[test]
    fn staying_longer_never_makes_the_way_out_cheaper(
        depth in 15.0..45.0_f64, stay in 1.0..30.0_f64, longer in 0.5..20.0_f64, low in 30.0..70.0_f64,
    ) {
        let stops = Some(Stops { gradients: Gradients::from_percent(low, 80.0), shallowest_m: 3.0, grid_m: 3.0, safety: None });
        let takes = |stay: f64| {
            let mix = Mix::nitrox(0.3);
            let dive = on_a_loop(vec![cylinder(1000.0, mix, 200.0), cylinder(1000.0, mix, 200.0)], &[1], depth, stay, stops);
            at_the_end(&dive).draws_l[1]
        };
        // A first stop that moves a step deeper may save a minute of a shallower one; a minute at 3 m is 31 L.
        prop_assert!(takes(stay + longer) >= takes(stay) - 2.0 * 24.0 * 1.3, "{} {}", takes(stay), takes(stay + longer));
    }
}

/// Down to 20 m, in along it for some minutes and back out as fast, then up, on the kit and the way out of [`on_a_loop`].
fn under_rock(kit: Vec<Cylinder>, way_out: &[usize], in_min: f64) -> Profile {
    let mut dive = on_a_loop(kit, way_out, 20.0, in_min, None);
    let along = |minutes: f64, way: Way, number: usize| {
        Leg::new(20.0, minutes, breathing(20.0), Why::Asked(number)).going(Some(way))
    };
    dive.legs.truncate(1);
    dive.legs.extend([along(in_min, Way::In(None), 1), along(in_min, Way::Out(1.0), 2)]);
    dive.legs.push(Leg::new(0.0, 20.0 / 9.0, breathing(20.0), Why::Asked(3)));
    dive
}

fn escape_at(dive: &Profile, t_min: f64) -> Escape {
    dive.escape_from(dive.run().at(t_min), &dive.sources(), &dive.home.out.unwrap())
}

/// 35 minutes in at 20 m, by hand: 2·45·3 = 270 L to solve the problem, 35·24·3 = 2520 back out, 20/9·24·2 = 106.7 up. Of
/// that a cylinder of 2300 lacks 596.7. Halfway out it is 1636.7, and lacks nothing.
#[test]
fn the_way_out_of_a_cave_is_worked_by_hand() {
    let mut bailout = cylinder(12.0, Mix::nitrox(0.32), 200.0);
    bailout.full_l = bailout.unusable_l + 2300.0;
    let dive = under_rock(vec![cylinder(12.0, Mix::nitrox(0.36), 200.0), bailout], &[1], 35.0);
    let turn_min = 20.0 / 15.0 + 35.0;
    let escape = escape_at(&dive, turn_min);
    near(escape.minutes, 2.0 + 35.0 + 20.0 / 9.0, 1e-6);
    near(escape.draws_l[1], 270.0 + 2520.0 + 320.0 / 3.0, 1e-3);
    near(escape.lacks_l, 2896.0 + 2.0 / 3.0 - 2300.0, 1e-3);
    let escape = escape_at(&dive, turn_min + 17.5);
    near(escape.draws_l[1], 270.0 + 1260.0 + 320.0 / 3.0, 1e-3);
    assert_eq!(escape.lacks_l, 0.0);
}

/// A way back that leads down again is not swum on a gas that suits its shallow end alone.
#[test]
fn a_way_back_that_dips_is_swum_on_a_gas_for_its_depth() {
    let mut oxygen = cylinder(7.0, Mix::nitrox(1.0), 200.0);
    oxygen.filled.greatest_po2_bar = 1.6;
    let mut lean = cylinder(12.0, Mix::nitrox(0.32), 200.0);
    lean.filled.greatest_po2_bar = 1.6;
    let mut dive = on_a_loop(vec![lean.clone(), oxygen, lean], &[1, 2], 20.0, 1.0, None);
    let along =
        |to_m: f64, minutes: f64| Leg::new(to_m, minutes, breathing(20.0), Why::Asked(1)).going(Some(Way::In(None)));
    dive.legs.extend([along(6.0, 10.0), along(6.0, 5.0)]);
    let out = dive.bail_out_from(dive.run().end, &dive.sources(), &dive.home.out.unwrap());
    assert!(out.surfaced());
    let greatest = out.extremes(0.0, &dive.limits).unwrap().greatest_po2_bar.0;
    assert!(greatest <= 1.6 + 1e-6, "{greatest}");
    // 2 minutes and 5 at 6 m, and from 6 m up.
    let used = |cylinder| out.used_l(cylinder, leadsman::run::Purpose::OpenCircuit);
    assert!(used(1) > 0.0 && used(2) > 0.0);
}

/// Four minutes more in are four minutes more back.
#[test]
fn whoever_goes_farther_in_comes_back_as_far() {
    let kit = || vec![cylinder(12.0, Mix::nitrox(0.36), 200.0), cylinder(12.0, Mix::nitrox(0.32), 200.0)];
    let mut dive = under_rock(kit(), &[1], 20.0);
    dive.home.trials.longer_min = 4.0;
    let longer = Trouble::Longer.worsen(&dive).run();
    near(longer.minutes() - dive.run().minutes(), 8.0, 1e-9);
    assert!(longer.end.inside.is_open());
}

proptest! {
    #![proptest_config(crate::seed::properties(100))]

    #[test]
    fn farther_in_never_takes_less_and_one_more_cylinder_never_lacks_more(
        in_min in 1.0..60.0_f64, farther_min in 0.0..30.0_f64, bar in 60.0..220.0_f64, other_bar in 0.0..220.0_f64,
    ) {
        let kit = |bars: &[f64]| -> Vec<Cylinder> {
            let supply = cylinder(20.0, Mix::nitrox(0.36), 230.0);
            let others = bars.iter().map(|bar| cylinder(7.0, Mix::nitrox(0.32), *bar));
            std::iter::once(supply).chain(others).collect()
        };
        let turn = |kit: Vec<Cylinder>, way_out: &[usize], in_min: f64| {
            escape_at(&under_rock(kit, way_out, in_min), 20.0 / 15.0 + in_min)
        };
        let one = turn(kit(&[bar]), &[1], in_min);
        let farther = turn(kit(&[bar]), &[1], in_min + farther_min);
        let takes = |escape: &Escape| escape.draws_l.iter().sum::<f64>();
        prop_assert!(takes(&farther) >= takes(&one) - 1e-6);
        prop_assert!(farther.lacks_l >= one.lacks_l - 1e-6);
        let two = turn(kit(&[bar, other_bar]), &[1, 2], in_min);
        prop_assert!(two.lacks_l <= one.lacks_l + 1e-6);
    }
}

/// A descent that is part of the way in is gone up again with the stops that it asks for, no faster than any way up.
#[test]
fn a_shaft_is_gone_up_with_its_stops() {
    let kit = || vec![cylinder(100.0, Mix::nitrox(0.3), 200.0), cylinder(100.0, Mix::nitrox(0.3), 200.0)];
    let stops =
        Some(Stops { gradients: Gradients::from_percent(40.0, 80.0), shallowest_m: 3.0, grid_m: 3.0, safety: None });
    let open = on_a_loop(kit(), &[1], 33.0, 30.0, stops);
    let mut shaft = open.clone();
    shaft.legs[0] = shaft.legs[0].going(Some(Way::In(None)));
    let (open, shaft) = (at_the_end(&open), at_the_end(&shaft));
    assert!(open.minutes > 2.0 + 33.0 / 9.0 + 3.0, "without stops this holds nothing");
    near(shaft.minutes, open.minutes, 1e-6);
    near(shaft.draws_l[1], open.draws_l[1], 1e-3);
}

/// A way up to the surface that is part of the way out leads out as well, at its stops not.
#[test]
fn a_way_home_may_be_the_way_out() {
    let kit = vec![cylinder(100.0, Mix::nitrox(0.3), 200.0), cylinder(100.0, Mix::nitrox(0.3), 200.0)];
    let stops =
        Some(Stops { gradients: Gradients::from_percent(40.0, 80.0), shallowest_m: 3.0, grid_m: 3.0, safety: None });
    let mut dive = on_a_loop(kit, &[1], 33.0, 30.0, stops);
    dive.legs[0] = dive.legs[0].going(Some(Way::In(None)));
    // 2.2 minutes down, 33/9 up.
    let home = Leg::new(0.0, 33.0 / 9.0, breathing(20.0), Why::Asked(2)).with_stops();
    dive.legs.push(home.going(Some(Way::Out(2.2 / (33.0 / 9.0)))));
    let track = dive.run();
    assert!(!track.stops().is_empty());
    assert!(track.end.inside.is_open());
}
