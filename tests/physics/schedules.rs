//! Ways home: the stops that tissues ask for.

use leadsman::physics::loop_balance::Feed;
use leadsman::physics::tissues::{Gradients, Line, Tissues};
use leadsman::physics::{Mix, Water};
use leadsman::run::{
    Ascent, Body, Circuit, Exposure, Filled, Home, Leg, Limits, Open, Profile, SemiClosed, Stops, Track, Why,
    no_stop_min,
};
use proptest::prelude::*;

use super::dives::{lasting, work};

/// Instrument depths at sea level.
fn sea() -> Water {
    Water::default()
}

fn stops(low: f64, high: f64) -> Stops {
    Stops { gradients: Gradients::from_percent(low, high), shallowest_m: 3.0, grid_m: 3.0, safety: None }
}

/// A gas that lasts and may be breathed down to a depth, its own operating depth at 1.6 bar.
fn gas(o2: f64, he: f64, greatest_bar: f64) -> leadsman::run::Cylinder {
    let mut cylinder = lasting(Mix { o2, he });
    cylinder.filled = Filled { greatest_po2_bar: greatest_bar, ..cylinder.filled };
    cylinder
}

/// Open circuit: down at 20 m/min, a stay, and up at 9 m/min with stops.
fn open(gases: &[(f64, f64)], depth_m: f64, stay_min: f64, stops: Stops) -> Profile {
    let cylinders: Vec<_> =
        gases.iter().enumerate().map(|(i, (o2, he))| gas(*o2, *he, if i == 0 { 1.5 } else { 1.6 })).collect();
    let mut planned: Vec<usize> = (0..cylinders.len()).collect();
    planned.sort_by(|a, b| gases[*b].0.total_cmp(&gases[*a].0));
    let legs = vec![
        Leg::new(depth_m, depth_m / 20.0, work(1.0), Why::Asked(0)),
        Leg::new(depth_m, stay_min, work(1.0), Why::Asked(1)),
        Leg::new(0.0, depth_m / 9.0, work(1.0), Why::Asked(2)).with_stops(),
    ];
    Profile {
        water: sea(),
        home: Home { stops: Some(stops), planned, ..Home::default() },
        carried: Exposure { body: Some(Body::at_rest(sea().surface_bar)), ..Exposure::default() },
        limits: Limits::default(),
        others: [].into(),
        ..super::dives::dive(Circuit::Open(Open { cylinder: 0 }), cylinders, None, legs)
    }
}

fn body(track: &Track, t_min: f64) -> Tissues {
    track.at(t_min).exposure.body.unwrap().tissues
}

/// The limit line of a way up: the first stop as the track tells of it.
fn line(track: &Track, stops: Stops) -> Line {
    let first = track.legs.iter().find(|(_, leg)| leg.why == Why::Stop).map_or(0.0, |(_, leg)| leg.to_m);
    Line { gradients: stops.gradients, first_stop_m: first }
}

/// When the way up begins.
fn leaves_bottom(track: &Track) -> f64 {
    track.legs.iter().find(|(_, leg)| leg.why == Why::Asked(2)).unwrap().0
}

/// By how much a compartment is ever beyond its limit on the way up, bar.
fn worst_on_the_way(track: &Track, stops: Stops) -> f64 {
    let line = line(track, stops);
    let begins = leaves_bottom(track);
    let count = ((track.end.t_min - begins) * 40.0) as usize;
    (0..=count)
        .map(|i| {
            let state = track.at(begins + i as f64 / 40.0);
            let tissues = state.exposure.body.unwrap().tissues;
            tissues.worst_bar(state.bar, line.at(state.depth_m()))
        })
        .chain([body(track, track.end.t_min).worst_bar(sea().surface_bar, line.at(0.0))])
        .fold(f64::NEG_INFINITY, f64::max)
}

prop_compose! {
    fn some_gases()(pick in 0..6_usize) -> &'static [(f64, f64)] {
        [
            &[(0.21, 0.0)] as &[_],
            &[(0.30, 0.0)],
            &[(0.28, 0.0), (0.50, 0.0)],
            &[(0.21, 0.35), (0.50, 0.0)],
            &[(0.18, 0.45), (0.50, 0.0), (0.99, 0.0)],
            &[(0.21, 0.79)],
        ][pick]
    }
}

prop_compose! {
    fn some_stops()(low in 20.0..80.0_f64, more in 0.0..60.0_f64, shallowest in prop::sample::select(vec![3.0, 6.0])) -> Stops {
        Stops { gradients: Gradients::from_percent(low, (low + more).min(100.0)), shallowest_m: shallowest, grid_m: 3.0, safety: None }
    }
}

proptest! {
    // What once failed is kept beside this file and tried first.
    #![proptest_config(ProptestConfig {
        failure_persistence: ProptestConfig::default().failure_persistence, ..crate::seed::properties(48)
    })]

    /// A millibar is what the gradient's course between two depths of the grid may hide, see `run::stops`.
    #[test]
    fn a_schedule_keeps_to_its_own_ceiling(
        gases in some_gases(), depth in 15.0..60.0_f64, stay in 3.0..45.0_f64, stops in some_stops(),
    ) {
        let track = open(gases, depth, stay, stops).run();
        if !track.surfaced() {
            // On heliox alone some stops have no end: nitrogen would have to leave into what holds none.
            prop_assert!(gases == [(0.21, 0.79)], "{:?}", track.stops());
            return Ok(());
        }
        let worst = worst_on_the_way(&track, stops);
        prop_assert!(worst <= 1e-3, "beyond the limit by {worst} bar: {:?}", track.stops());
    }

    #[test]
    fn no_stop_can_be_shorter(
        gases in some_gases(), depth in 15.0..60.0_f64, stay in 3.0..45.0_f64, stops in some_stops(),
    ) {
        let dive = open(gases, depth, stay, stops);
        let track = dive.run();
        let line = line(&track, stops);
        for (number, (begins, leg)) in track.legs.iter().enumerate() {
            let Some((ends, next)) = track.legs.get(number + 1) else { continue };
            let switches = leg.act != leadsman::run::Act::None;
            if leg.why != Why::Stop || switches || ends - begins < 0.5 || next.why == Why::Stop {
                continue;
            }
            // At each whole minute before its end, the way to the next depth of the grid breaks the limit there or before.
            for minute in 1..=(ends - begins - 0.5) as usize {
                let from = track.at(begins + minute as f64);
                let mix = from.kit[from.source.max(1) - 1].mix;
                let up_m = if leg.to_m <= stops.shallowest_m + 1e-6 { 0.0 } else { leg.to_m - 3.0 };
                let early = |share: f64| {
                    let to_m = leg.to_m + (up_m - leg.to_m) * share;
                    let bar = sea().pressure_bar(to_m);
                    let tissues = from.exposure.body.unwrap().tissues.after(mix, from.bar, bar, (leg.to_m - to_m) / 9.0);
                    tissues.worst_bar(bar, line.at(to_m))
                };
                let worst = [0.25, 0.5, 0.75, 1.0].map(early).into_iter().fold(f64::NEG_INFINITY, f64::max);
                prop_assert!(worst > 0.0, "the stop at {} m may end after {minute} min: {worst}", leg.to_m);
            }
        }
    }

    #[test]
    fn deeper_or_longer_never_leaves_more_time(
        gases in some_gases(), depth in 12.0..50.0_f64, deeper in 0.0..10.0_f64, stay in 0.0..20.0_f64,
        longer in 0.0..10.0_f64, stops in some_stops(),
    ) {
        let left = |depth: f64, stay: f64| {
            let dive = open(&gases[..1], depth, stay, stops);
            let track = dive.run();
            let now = track.at(depth / 20.0 + stay);
            let ascent = Ascent { rate_m_per_min: 9.0, last: None, work: work(1.0) };
            no_stop_min(&now, &dive.sources(), &stops, &ascent, work(1.0)).unwrap_or(f64::INFINITY)
        };
        let planned = left(depth, stay);
        prop_assert!(left(depth + deeper, stay) <= planned + 1e-6);
        prop_assert!(left(depth, stay + longer) <= planned + 1e-6);
    }

    /// Raised at both ends alike, so that the line is nowhere stricter.
    #[test]
    fn a_higher_gradient_never_adds_to_the_way_up(
        gases in some_gases(), depth in 15.0..60.0_f64, stay in 3.0..40.0_f64, low in 20.0..60.0_f64, more in 1.0..30.0_f64,
    ) {
        let minutes = |low: f64| {
            let track = open(&gases[..1], depth, stay, stops(low, low + 10.0)).run();
            track.end.t_min
        };
        prop_assert!(minutes(low + more) <= minutes(low) + 1e-6);
    }

    #[test]
    fn at_the_surface_no_compartment_rises_above_the_greater_of_itself_and_air(
        gases in some_gases(), depth in 15.0..60.0_f64, stay in 3.0..45.0_f64, waits in 0.0..600.0_f64,
    ) {
        let end = body(&open(gases, depth, stay, stops(30.0, 80.0)).run(), f64::INFINITY);
        let air = Tissues::at_rest(sea().surface_bar);
        let later = end.after_surface(sea().surface_bar, waits);
        for i in 0..16 {
            prop_assert!(later.nitrogen_bar()[i] <= end.nitrogen_bar()[i].max(air.nitrogen_bar()[i]) + 1e-12);
            prop_assert!(later.helium_bar()[i] <= end.helium_bar()[i] + 1e-12);
        }
    }
}

/// On open circuit the run's tissues are Schreiner's equation leg by leg.
#[test]
fn on_open_circuit_tissues_follow_each_leg() {
    let mix = Mix { o2: 0.18, he: 0.45 };
    let track = open(&[(0.18, 0.45)], 48.0, 17.0, stops(30.0, 80.0)).run();
    let (top, deep) = (sea().surface_bar, sea().pressure_bar(48.0));
    let by_hand = Tissues::at_rest(top).after(mix, top, deep, 2.4).after(mix, deep, deep, 17.0);
    let run = body(&track, 19.4);
    for (a, b) in run.inert_bar().iter().zip(by_hand.inert_bar()) {
        assert!((a - b).abs() < 1e-12, "{a} {b}");
    }
}

/// The way up from the middle of a stop is what is left of it: whole minutes count from its start.
#[test]
fn the_way_up_can_be_taken_up_anywhere() {
    let dive = open(&[(0.18, 0.45), (0.5, 0.0)], 54.0, 20.0, stops(30.0, 80.0));
    let track = dive.run();
    let sources = dive.sources();
    for halt in track.stops() {
        let whole = track.end.t_min - halt.t_min;
        let rest = dive.home_from(track.at(halt.t_min), &sources, dive.home.ascent).minutes();
        assert!((rest - whole).abs() < 1e-6, "at {} m: {rest} for {whole}", halt.depth_m);
    }
}

/// A loop with 30 % in it loads tissues as open circuit on 30 % does.
#[test]
fn a_loop_counts_by_what_it_holds() {
    let unit = SemiClosed {
        loop_l: 6.0,
        feed: Feed { constant_lpm: 0.0, controlled_lpm: 60.0 },
        make_up_lpm: f64::INFINITY,
        supply: 0,
        scrubber: leadsman::run::Scrubber::default(),
    };
    let mut dive = open(&[(0.30, 0.0)], 30.0, 25.0, stops(30.0, 70.0));
    let on_open_circuit = dive.run();
    dive.circuit = Circuit::SemiClosed(unit);
    dive.cylinders = vec![lasting(Mix::nitrox(0.5))].into();
    dive.set_point = Some(leadsman::physics::SetPoint::Fraction(0.30));
    let on_loop = dive.run();
    // What the loop holds on the first minutes differs: exhaled air, then the supply that makes up for the way down,
    // which counts as the set-point.
    let bottom = 30.0 / 20.0 + 25.0;
    for (a, b) in body(&on_loop, bottom).inert_bar().iter().zip(body(&on_open_circuit, bottom).inert_bar()) {
        assert!((a - b).abs() < 0.01, "{a} {b}");
    }
    assert!(!on_open_circuit.stops().is_empty());
    assert!((on_loop.end.t_min - on_open_circuit.end.t_min).abs() <= 1.0);
}

/// A way up that needs no stop makes the one that the limits ask for; one that needs stops makes those alone.
#[test]
fn a_safety_stop_is_part_of_a_way_up_that_needs_none() {
    let with = |stay_min: f64| {
        let stops = Stops { safety: Some((5.0, 3.0)), ..stops(40.0, 85.0) };
        (
            open(&[(0.32, 0.0)], 20.0, stay_min, stops).run(),
            open(&[(0.32, 0.0)], 20.0, stay_min, self::stops(40.0, 85.0)).run(),
        )
    };
    let minutes = |track: &Track| track.end.t_min;
    let at_the_stop = |track: &Track| track.legs.iter().filter(|(_, leg)| leg.why == Why::SafetyStop).count();
    let (short, without) = with(20.0);
    assert!(without.stops().is_empty() && short.stops().is_empty());
    assert_eq!((at_the_stop(&short), at_the_stop(&without)), (1, 0));
    assert!((minutes(&short) - minutes(&without) - 3.0).abs() < 1e-9);
    // Three minutes at 5 m, 1.5 bar: what is breathed there.
    let used = |track: &Track| track.used_l(0, leadsman::run::Purpose::OpenCircuit);
    let lpm = work(1.0).gas_lpm;
    assert!(
        (used(&short) - used(&without) - 3.0 * 1.5 * lpm * sea().pressure_bar(5.0) / 1.5).abs() < 1e-6 * used(&short)
    );
    let (long, without) = with(80.0);
    assert!(!without.stops().is_empty());
    assert_eq!((at_the_stop(&long), minutes(&long)), (0, minutes(&without)));
}

/// The last stop has a depth of its own, of the grid or not: 20 feet is 6.096 m.
#[test]
fn the_last_stop_is_where_it_is_asked_for() {
    let stops = Stops { shallowest_m: 6.096, ..stops(40.0, 85.0) };
    let track = open(&[(0.28, 0.0)], 36.0, 30.0, stops).run();
    let depths: Vec<f64> = track.stops().iter().map(|stop| stop.depth_m).collect();
    assert_eq!(depths.last(), Some(&6.096), "{depths:?}");
    assert!(depths.iter().rev().skip(1).all(|depth| (depth / 3.0).fract() == 0.0 && *depth > 6.1), "{depths:?}");
}

/// Whoever plans in feet stops every ten of them, and the last at twenty.
#[test]
fn stops_are_made_at_multiples_of_the_grid() {
    let foot = 0.3048;
    let stops = Stops { grid_m: 10.0 * foot, shallowest_m: 20.0 * foot, ..stops(40.0, 85.0) };
    let track = open(&[(0.28, 0.0)], 36.0, 40.0, stops).run();
    let feet: Vec<f64> = track.stops().iter().map(|stop| stop.depth_m / foot).collect();
    assert!(feet.len() >= 2 && feet.last().is_some_and(|last| (last - 20.0).abs() < 1e-9), "{feet:?}");
    assert!(feet.iter().all(|feet| (feet / 10.0 - (feet / 10.0).round()).abs() < 1e-9), "{feet:?}");
}

/// The last six metres at 3 m a minute take two minutes, 0.67 at 9: by hand. So it is where no stop is needed; where one is,
/// it is gone on from the last at 6 m as slowly.
#[test]
fn the_last_metres_may_be_slower() {
    let slow = |stay_min: f64| {
        let mut dive = open(&[(0.32, 0.0)], 24.0, stay_min, Stops { shallowest_m: 6.0, ..stops(40.0, 85.0) });
        let usual = dive.run();
        dive.home.ascent.last = Some((6.0, 3.0));
        (usual, dive.run())
    };
    let (usual, slower) = slow(10.0);
    assert!(usual.stops().is_empty() && slower.stops().is_empty());
    assert!((slower.end.t_min - usual.end.t_min - (2.0 - 6.0 / 9.0)).abs() < 1e-9);
    let (_, slower) = slow(60.0);
    let (begins, last) = slower.legs.last().unwrap();
    assert!(!slower.stops().is_empty() && last.to_m == 0.0);
    assert!((slower.at(*begins).depth_m() - 6.0).abs() < 1e-6 && (last.lasts_min - 2.0).abs() < 1e-9, "{last:?}");
    // One that would be faster is none.
    let mut fast = open(&[(0.32, 0.0)], 24.0, 10.0, stops(40.0, 85.0));
    fast.home.ascent.last = Some((6.0, 18.0));
    assert!((fast.run().end.t_min - usual.end.t_min).abs() < 1e-9);
}
