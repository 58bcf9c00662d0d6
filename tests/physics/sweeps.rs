//! The ways out from all minutes of a dive in few runs, beside a run from every minute.

use leadsman::physics::Mix;
use leadsman::physics::tissues::Gradients;
use leadsman::run::{
    Ascent, Body, Circuit, Escape, Exposure, Home, Leg, Limits, Open, Profile, Stops, WayOut, Why, Work,
};
use proptest::prelude::*;

use super::dives::{WATER, cylinder};
use super::properties::some_dive;

/// Two ways of taking the same numbers from each other differ by less: free litres, minutes.
const ROUNDING: f64 = 1e-6;

fn breathing(gas_lpm: f64) -> Work {
    Work { oxygen_lpm: 0.05 * gas_lpm, gas_lpm }
}

prop_compose! {
    fn some_way_out()(
        problem_min in prop_oneof![Just(0.0), 0.5..4.0_f64], problem in 20.0..80.0_f64, up in 12.0..40.0_f64, rate in 6.0..12.0_f64,
    ) -> WayOut {
        let ascent = Ascent { rate_m_per_min: rate, last: None, work: breathing(up) };
        WayOut { problem_min, problem: breathing(problem), ascent, divers: 1.0, fade: None }
    }
}

prop_compose! {
    fn some_stops()(low in 20.0..80.0_f64, more in 0.0..30.0_f64, safety in prop_oneof![Just(None), Just(Some((5.0, 3.0)))]) -> Stops {
        Stops { gradients: Gradients::from_percent(low, low + more), shallowest_m: 3.0, grid_m: 3.0, safety }
    }
}

prop_compose! {
    /// Any dive with a stay behind each of its legs, on any apparatus and on open circuit, with a bailout and a gas for the
    /// stops that may be too small.
    fn some_dive_and_its_way_out()(
        dive in some_dive(), stays in prop::collection::vec(0.0..40.0_f64, 6), open in any::<bool>(), out in some_way_out(),
        stops in prop_oneof![4 => some_stops().prop_map(Some), 1 => Just(None)],
        bailout in 2.0..15.0_f64, bar in 30.0..220.0_f64, order in Just(vec![0_usize, 1, 2, 3]).prop_shuffle(), taken in 1..=4_usize,
    ) -> (Profile, WayOut) {
        let mut cylinders = dive.cylinders.to_vec();
        cylinders.push(cylinder(bailout, Mix::nitrox(0.32), bar));
        cylinders.push(cylinder(5.0, Mix::nitrox(0.5), bar));
        let behind = |(leg, minutes): (&Leg, &f64)| [*leg, Leg::new(leg.to_m, *minutes, leg.work, Why::Asked(1))];
        let circuit = if open { Circuit::Open(Open { cylinder: 1 }) } else { dive.circuit };
        let profile = Profile {
            circuit,
            set_point: dive.set_point.filter(|_| !open),
            cylinders: cylinders.into(),
            legs: dive.legs.iter().zip(&stays).flat_map(behind).collect(),
            home: Home {
                stops, way_out: order.into_iter().take(taken).collect(), planned: vec![1], out: Some(out), ascent: out.ascent,
                ..Home::default()
            },
            carried: Exposure { body: Some(Body::at_rest(WATER.surface_bar)), ..Exposure::default() },
            limits: Limits::default(),
            ..dive
        };
        (profile, out)
    }
}

fn figures(escape: &Escape) -> Vec<f64> {
    let Escape { t_min, depth_m, minutes, problem_min, back_min, draws_l, lacks_l, spare_l } = escape;
    [*t_min, *depth_m, *minutes, *problem_min, *back_min, *lacks_l, *spare_l]
        .into_iter()
        .chain(draws_l.clone())
        .collect()
}

proptest! {
    #![proptest_config(crate::seed::properties(120))]

    #[test]
    fn every_minute_has_the_way_out_that_its_own_run_finds((dive, out) in some_dive_and_its_way_out()) {
        let track = dive.run();
        let (told, run) = (dive.escapes(&track, &out), dive.escapes_one_by_one(&track, &out));
        prop_assert_eq!(told.len(), run.len());
        for (told, run) in told.iter().zip(&run) {
            let alike = figures(told).iter().zip(figures(run)).all(|(a, b)| *a == b || (a - b).abs() < ROUNDING);
            prop_assert!(alike, "{:?}\nis told of\n{:?}", told, run);
        }
    }
}
