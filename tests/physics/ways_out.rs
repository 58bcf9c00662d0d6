//! The way out on open circuit, from any moment.

use leadsman::physics::Mix;
use leadsman::physics::tissues::Gradients;
use leadsman::run::{
    Ascent, Body, Circuit, Cylinder, Escape, Exposure, Home, Leg, Open, Profile, Stops, WayOut, Why, Work,
};
use proptest::prelude::*;

use super::dives::{SEMI_CLOSED, WATER, cylinder, dive};
use super::near;

fn breathing(gas_lpm: f64) -> Work {
    Work { oxygen_lpm: 0.7, gas_lpm }
}

/// A stay on the semi-closed unit of the worked examples, and a way out at 45 L/min, then 24.
fn on_a_loop(kit: Vec<Cylinder>, way_out: &[usize], depth_m: f64, stay_min: f64, stops: Option<Stops>) -> Profile {
    let ascent = Ascent { rate_m_per_min: 9.0, work: breathing(24.0) };
    let legs = vec![
        Leg::new(depth_m, depth_m / 15.0, breathing(20.0), Why::Asked(0)),
        Leg::new(depth_m, stay_min, breathing(20.0), Why::Asked(1)),
    ];
    Profile {
        home: Home {
            stops,
            way_out: way_out.to_vec(),
            out: Some(WayOut { problem_min: 2.0, problem: breathing(45.0), ascent, divers: 1.0 }),
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

/// Deco gas is breathed from its depth up and not before.
#[test]
fn deco_gas_is_breathed_where_it_may_be() {
    let mut half = cylinder(7.0, Mix::nitrox(0.5), 200.0);
    half.filled.greatest_po2_bar = 1.6;
    let mut lean = cylinder(12.0, Mix::nitrox(0.3), 200.0);
    lean.filled.greatest_po2_bar = 1.6;
    let kit = vec![lean.clone(), half, lean];
    let stops = Some(Stops { gradients: Gradients::from_percent(30.0, 80.0), shallowest_m: 3.0 });
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
        let stops = Some(Stops { gradients: Gradients::from_percent(40.0, 80.0), shallowest_m: 3.0 });
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
        let stops = Some(Stops { gradients: Gradients::from_percent(low, 80.0), shallowest_m: 3.0 });
        let takes = |stay: f64| {
            let mix = Mix::nitrox(0.3);
            let dive = on_a_loop(vec![cylinder(1000.0, mix, 200.0), cylinder(1000.0, mix, 200.0)], &[1], depth, stay, stops);
            at_the_end(&dive).draws_l[1]
        };
        // A first stop that moves a step deeper may save a minute of a shallower one; a minute at 3 m is 31 L.
        prop_assert!(takes(stay + longer) >= takes(stay) - 2.0 * 24.0 * 1.3, "{} {}", takes(stay), takes(stay + longer));
    }
}
