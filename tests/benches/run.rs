//! One diver's dive, simulated. Held to 20 µs on one core; `tests/reference/scripts/loop_transients.py --time`
//! prints what SciPy needs for the same dive; `DEVELOPERS.md` says how to run both in one go.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use leadsman::physics::gas::Stored;
use leadsman::physics::litres::Stpd;
use leadsman::physics::loop_balance::Feed;
use leadsman::physics::tissues::Gradients;
use leadsman::physics::{Mix, SetPoint, Water};
use leadsman::run::{
    Ascent, Body, Circuit, Cylinder, Exposure, Filled, Home, Leg, Limits, Open, Planned, Profile, Scrubber, SemiClosed,
    Stops, Trials, WayOut, Why, Work, outcomes, run,
};

fn dive() -> Profile {
    let supply = Cylinder::new(Filled {
        size_l: 12.0,
        mix: Mix::nitrox(0.36),
        gauge_bar: 205.0,
        read_c: 20.0,
        water_c: 9.0,
        surface_bar: 1.0,
        reserve_bar: 50.0,
        unusable_bar: 20.0,
        greatest_po2_bar: 1.6,
    })
    .unwrap();
    let work = |oxygen_lpm: f64| Work { oxygen_lpm, gas_lpm: 20.0 * oxygen_lpm };
    let legs = [
        (28.0, 28.0 / 15.0, 1.0),
        (28.0, 20.0, 1.0),
        (21.0, 7.0 / 9.0, 1.0),
        (21.0, 8.0, 1.5),
        (6.0, 15.0 / 9.0, 1.0),
        (6.0, 3.0, 0.7),
        (3.0, 1.0 / 3.0, 0.7),
        (3.0, 5.0, 0.7),
        (0.0, 1.0 / 3.0, 0.7),
    ];
    Profile {
        water: Water { surface_bar: 1.0, bar_per_m: 0.1 },
        circuit: Circuit::SemiClosed(SemiClosed {
            loop_l: 6.0,
            feed: Feed { constant_lpm: 6.0, controlled_lpm: 20.0 },
            make_up_lpm: f64::INFINITY,
            supply: 0,
            scrubber: Scrubber { quotient: 1.0, rated_co2: Some(Stpd(1.2)) },
        }),
        cylinders: Arc::from([supply]),
        set_point: Some(SetPoint::Fraction(0.27)),
        pre_breathe_min: 5.0,
        checks_l: 0.0,
        rest: work(0.7),
        legs: legs.iter().map(|&(to, lasts, oxygen)| Leg::new(to, lasts, work(oxygen), Why::Asked(0))).collect(),
        inflates: Some(0),
        carried: Exposure::default(),
        home: Home::default(),
        limits: Limits { floor_o2: 0.21, absorbent_min: 120.0, ..Limits::default() },
        others: Arc::from([]),
    }
}

fn benches(criterion: &mut Criterion) {
    let dive = dive();
    criterion.bench_function("semi-closed dive", |bencher| bencher.iter(|| black_box(&dive).run()));
    let (legs, sources) = (dive.all_legs(), dive.sources());
    criterion.bench_function("semi-closed dive, sources ready", |bencher| {
        bencher.iter(|| run(dive.start(), &mut Planned::new(&legs), &sources, &dive.limits));
    });
    let track = dive.run();
    criterion.bench_function("an instant of a track", |bencher| bencher.iter(|| track.at(black_box(17.3))));
    criterion.bench_function("mix at a temperature", |bencher| {
        bencher.iter(|| Stored::new(black_box(Mix::nitrox(0.36)), 9.0));
    });
    let stored = Stored::new(Mix::nitrox(0.36), 9.0).unwrap();
    criterion.bench_function("litres from a gauge", |bencher| {
        bencher.iter(|| stored.free_l(12.0, black_box(205.0), 1.0));
    });
    criterion.bench_function("gauge from litres", |bencher| {
        bencher.iter(|| stored.gauge_bar(12.0, black_box(1400.0), 1.0));
    });
}

/// The same dive with what getting out needs: an independent cylinder, the supply at the mouthpiece, and stops.
fn with_way_out() -> Profile {
    let plain = dive();
    let bottle = |size_l: f64, o2: f64| {
        Cylinder::new(Filled { size_l, mix: Mix::nitrox(o2), gauge_bar: 200.0, ..plain.cylinders[0].filled }).unwrap()
    };
    let breathing = |gas_lpm: f64| Work { oxygen_lpm: 0.7, gas_lpm };
    let ascent = Ascent { rate_m_per_min: 9.0, last: None, work: breathing(24.0) };
    let mut legs = plain.legs[..4].to_vec();
    legs.push(Leg::new(0.0, 21.0 / 9.0, plain.legs[0].work, Why::Asked(4)).with_stops());
    Profile {
        cylinders: Arc::from([plain.cylinders[0].clone(), bottle(7.0, 0.3), bottle(7.0, 0.5)]),
        carried: Exposure { body: Some(Body::at_rest(1.0)), ..Exposure::default() },
        home: Home {
            stops: Some(Stops {
                gradients: Gradients::from_percent(45.0, 80.0),
                shallowest_m: 3.0,
                grid_m: 3.0,
                safety: None,
            }),
            way_out: vec![2, 1, 0],
            out: Some(WayOut { problem_min: 2.0, problem: breathing(60.0), ascent, divers: 1.0, fade: None }),
            ascent,
            ..Home::default()
        },
        legs,
        ..plain
    }
}

fn ways_out(criterion: &mut Criterion) {
    let dive = with_way_out();
    criterion.bench_function("semi-closed dive with stops", |bencher| bencher.iter(|| black_box(&dive).run()));
    let (track, out) = (dive.run(), dive.home.out.unwrap());
    let moments = dive.escapes(&track, &out).len();
    criterion.bench_function(&format!("way out from {moments} moments"), |bencher| {
        bencher.iter(|| black_box(&dive).escapes(&track, &out));
    });
}

/// A plan of two dives and three divers: six such dives, each run with the way out from every minute and every
/// contingency.
fn a_day(criterion: &mut Criterion) {
    let mut dive = with_way_out();
    let hard = |oxygen_lpm: f64| Work { oxygen_lpm, gas_lpm: 20.0 * oxygen_lpm };
    dive.home.deco = vec![2];
    dive.home.trials =
        Trials { deeper_m: 2.0, longer_min: 4.0, peak: hard(3.0), heavy: hard(2.2), ..Trials::default() };
    let out = dive.home.out.unwrap();
    let (track, sixth) = (dive.run(), 6);
    let escapes = dive.escapes(&track, &out);
    criterion.bench_function("all contingencies of a dive", |bencher| {
        bencher.iter(|| outcomes(black_box(&dive), &track, &escapes));
    });
    criterion.bench_function("a plan of two dives and three divers", |bencher| {
        bencher.iter(|| {
            for _ in 0..sixth {
                let dive = black_box(&dive);
                let track = dive.run();
                let escapes = dive.escapes(&track, &out);
                black_box(outcomes(dive, &track, &escapes));
            }
        });
    });
}

/// 60 m for 20 minutes on trimix, with two deco gases.
fn schedule(criterion: &mut Criterion) {
    let plain = dive();
    let bottle = |o2: f64, he: f64, greatest_po2_bar: f64| {
        let filled = Filled { size_l: 24.0, mix: Mix { o2, he }, greatest_po2_bar, ..plain.cylinders[0].filled };
        Cylinder::new(filled).unwrap()
    };
    let work = plain.legs[0].work;
    let ascent = Ascent { rate_m_per_min: 9.0, last: None, work };
    let dive = Profile {
        circuit: Circuit::Open(Open { cylinder: 0 }),
        cylinders: Arc::from([bottle(0.18, 0.45, 1.4), bottle(0.5, 0.0, 1.6), bottle(0.99, 0.0, 1.6)]),
        set_point: None,
        legs: vec![
            Leg::new(60.0, 3.0, work, Why::Asked(0)),
            Leg::new(60.0, 20.0, work, Why::Asked(1)),
            Leg::new(0.0, 60.0 / 9.0, work, Why::Asked(2)).with_stops(),
        ],
        carried: Exposure { body: Some(Body::at_rest(1.0)), ..Exposure::default() },
        home: Home {
            stops: Some(Stops {
                gradients: Gradients::from_percent(30.0, 80.0),
                shallowest_m: 3.0,
                grid_m: 3.0,
                safety: None,
            }),
            planned: vec![2, 1, 0],
            ascent,
            ..Home::default()
        },
        ..plain
    };
    criterion.bench_function("60 m trimix with two deco gases", |bencher| bencher.iter(|| black_box(&dive).run()));
}

criterion_group!(group, benches, ways_out, a_day, schedule);
criterion_main!(group);
