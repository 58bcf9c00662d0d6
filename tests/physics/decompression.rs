//! Tissues, stops and no-stop times against tables made with SciPy's solver on a code path of its own, and against the
//! U.S. Navy's no-stop limits.

use leadsman::physics::loop_balance::Feed;
use leadsman::physics::tissues::{Gradients, Tissues};
use leadsman::physics::{Mix, Water};
use leadsman::run::{
    Ascent, Body, Circuit, Exposure, Filled, Home, Leg, Limits, LoopGas, Open, Planned, Profile, SemiClosed, Stops,
    Track, Why, no_stop_min, run,
};

use super::dives::{SEMI_CLOSED, lasting, work};
use super::{near, number, table};

fn mix(text: &str) -> Mix {
    let (o2, he) = text.split_once('/').unwrap();
    Mix { o2: o2.parse().unwrap(), he: he.parse().unwrap() }
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(';').map(|number| number.parse().unwrap()).collect()
}

/// Open circuit as the tables have it: down at 20 m/min, up at 9; the first gas is the one of the bottom, the others may
/// be breathed up to 1.6 bar.
fn open(gases: &[Mix], water: Water, depth_m: f64, stay_min: f64, stops: Stops, body: Body) -> Profile {
    let mut planned: Vec<usize> = (0..gases.len()).collect();
    planned.sort_by(|a, b| gases[*b].o2.total_cmp(&gases[*a].o2));
    let cylinder = |mix: &Mix| {
        let mut cylinder = lasting(*mix);
        cylinder.filled = Filled { greatest_po2_bar: 1.6, ..cylinder.filled };
        cylinder
    };
    let legs = vec![
        Leg::new(depth_m, depth_m / 20.0, work(1.0), Why::Asked(0)),
        Leg::new(depth_m, stay_min, work(1.0), Why::Asked(1)),
        Leg::new(0.0, depth_m / 9.0, work(1.0), Why::Asked(2)).with_stops(),
    ];
    Profile {
        water,
        home: Home { stops: Some(stops), planned, ..Home::default() },
        carried: Exposure { body: Some(body), ..Exposure::default() },
        limits: Limits { least_bar: 0.0, ..Limits::default() },
        ..super::dives::dive(Circuit::Open(Open { cylinder: 0 }), gases.iter().map(cylinder).collect(), None, legs)
    }
}

fn inert(track: &Track) -> Vec<f64> {
    let body = track.end.exposure.body.unwrap().tissues;
    body.nitrogen_bar().iter().chain(body.helium_bar()).copied().collect()
}

/// `tissues.csv`: both gases of every compartment after each leg of profiles on open circuit.
#[test]
fn tissues_on_open_circuit_are_scipys_leg_by_leg() {
    let rows = table("tissues.csv");
    let mut at = (String::new(), 0.0, Tissues::at_rest(1.0));
    for row in &rows {
        let [surface, body, depth, minutes] = [1, 2, 4, 5].map(|column| number(row, column));
        if row[0] != *at.0 {
            at = (row[0].to_owned(), 0.0, Tissues::at_rest(body));
        }
        let water = Water::by_instrument(surface);
        let (from, to) = (water.pressure_bar(at.1), water.pressure_bar(depth));
        at = (at.0, depth, at.2.after(mix(&row[3]), from, to, minutes));
        for (found, column) in [(at.2.nitrogen_bar(), 6), (at.2.helium_bar(), 7)] {
            for (found, expected) in found.iter().zip(numbers(&row[column])) {
                near(*found, expected, 2e-9);
            }
        }
    }
    assert!(rows.len() > 25);
}

/// `schedules.csv`: every stop to the minute, the way up and all tensions at its end.
#[test]
fn schedules_are_scipys() {
    for row in table("schedules.csv") {
        let gases: Vec<Mix> = row[0].split(';').map(mix).collect();
        let [depth, stay, low, high, shallowest, surface, body] =
            [1, 2, 3, 4, 5, 6, 7].map(|column| number(&row, column));
        let water = Water::by_instrument(surface);
        let stops = Stops {
            gradients: Gradients::from_percent(low, high),
            shallowest_m: shallowest,
            grid_m: 3.0,
            safety: None,
        };
        let mut body = Body::at_rest(body);
        if !row[8].is_empty() {
            let before = open(&gases, water, number(&row, 9), number(&row, 10), stops, body).run();
            body = before.end.exposure.body.unwrap().after_surface(surface, number(&row, 8));
        }
        let track = open(&gases, water, depth, stay, stops, body).run();
        let found: Vec<String> =
            track.stops().iter().map(|stop| format!("{}:{}", stop.depth_m, stop.minutes.round())).collect();
        assert_eq!(found.join(";"), row[11], "{row:?}");
        near(track.end.t_min - depth / 20.0 - stay, number(&row, 12), 1e-6);
        for (found, expected) in inert(&track).iter().zip(numbers(&row[13])) {
            near(*found, expected, 1e-7);
        }
    }
}

/// `no_stop.csv`, to a tenth of a minute and far below.
#[test]
fn no_stop_times_are_scipys() {
    for row in table("no_stop.csv") {
        let (gas, depth, high, surface) = (mix(&row[0]), number(&row, 1), number(&row, 2), number(&row, 3));
        let water = Water::by_instrument(surface);
        let stops =
            Stops { gradients: Gradients::from_percent(high, high), shallowest_m: 3.0, grid_m: 3.0, safety: None };
        let dive = open(&[gas], water, depth, 0.0, stops, Body::at_rest(surface));
        let arrived = dive.run().at(depth / 20.0);
        let found = no_stop_min(&arrived, &dive.sources(), &stops, &Ascent::default(), work(1.0)).unwrap();
        near(found, number(&row, 4), 1e-3);
    }
}

/// `tissues_on_loops.csv`: what a loop holds and what tissues take of it, to 1e-4 bar of the solver's where its fraction
/// moves.
#[test]
fn tissues_on_loops_are_scipys() {
    for row in table("tissues_on_loops.csv") {
        let [o2, he, feed] = [1, 2, 3].map(|column| number(&row, column));
        let mut at_m = 0.0;
        let legs: Vec<Leg> = row[4]
            .split(';')
            .map(|leg| {
                let parts: Vec<f64> = leg.split(':').map(|part| part.parse().unwrap()).collect();
                at_m = parts[0];
                Leg::new(parts[0], parts[1], work(parts[2]), Why::Asked(0))
            })
            .collect();
        let unit = SemiClosed {
            feed: Feed { constant_lpm: feed, controlled_lpm: 0.0 },
            make_up_lpm: f64::INFINITY,
            ..SEMI_CLOSED
        };
        let dive = Profile {
            carried: Exposure { body: Some(Body::at_rest(1.0)), ..Exposure::default() },
            ..super::dives::dive(Circuit::SemiClosed(unit), vec![lasting(Mix { o2, he })], None, legs.clone())
        };
        let mut start = dive.start();
        start.breathed = LoopGas { o2: 0.27, he: 0.0, litres: super::dives::loop_free_l(6.0, 1.0) };
        let track = run(start, &mut Planned::new(&legs), &dive.sources(), &dive.limits);
        near(track.end.breathed.o2, number(&row, 5), 1e-6);
        near(track.end.breathed.he, number(&row, 6), 1e-6);
        for (found, expected) in inert(&track).iter().zip(numbers(&row[7])) {
            near(*found, expected, 1e-4);
        }
    }
}

/// The U.S. Navy's limits for air (`usn_nostop.csv`, Revision 7, from memory) are another model's (Thalmann's, at 30 ft/min
/// up), so size and order are all that can be asked: at full gradients these are within a factor of 1.6 of them from 50 to
/// 130 ft, fall with depth as they do, and at 70 % they are shorter than the Navy's.
#[test]
fn no_stop_times_are_of_the_navys_size() {
    let water = Water::default();
    let mut last = f64::INFINITY;
    let mut rows = 0;
    for row in table("usn_nostop.csv") {
        let fsw = if &row[1] == "USN_Rev7_2016" { number(&row, 2) } else { continue };
        if !(50.0..=130.0).contains(&fsw) {
            continue;
        }
        let depth = water.depth_m(water.surface_bar + fsw * 0.030643);
        let found = |high: f64| {
            let stops =
                Stops { gradients: Gradients::from_percent(high, high), shallowest_m: 3.0, grid_m: 3.0, safety: None };
            let dive = open(&[Mix { o2: 0.21, he: 0.0 }], water, depth, 0.0, stops, Body::at_rest(water.surface_bar));
            let arrived = dive.run().at(depth / 20.0);
            // The Navy's bottom time runs from leaving the surface.
            depth / 20.0 + no_stop_min(&arrived, &dive.sources(), &stops, &Ascent::default(), work(1.0)).unwrap()
        };
        let navy = number(&row, 4);
        let full = found(100.0);
        println!("{fsw} fsw: Navy {navy}, full {full:.1}, 70 % {:.1}", found(70.0));
        assert!(full / navy < 1.6 && navy / full < 1.6, "{fsw} fsw: {full} against {navy}");
        assert!(full < last && found(70.0) < navy, "{fsw} fsw: {full}");
        last = full;
        rows += 1;
    }
    assert_eq!(rows, 10);
}
