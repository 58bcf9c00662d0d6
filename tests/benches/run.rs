//! One diver's dive, simulated. Held to 20 µs on one core; the script `tests/reference/scripts/loop_transients.py` prints
//! what SciPy needs for the same dive.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use leadsman::physics::gas::Stored;
use leadsman::physics::loop_balance::Feed;
use leadsman::physics::{Mix, Water};
use leadsman::run::{
    Apparatus, Cylinder, Dive, Exposure, Filled, Home, Leg, Limits, Planned, Scrubber, SemiClosed, Why, Work, run,
};

fn dive() -> Dive {
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
    Dive {
        water: Water { surface_bar: 1.0, bar_per_m: 0.1 },
        apparatus: Apparatus::SemiClosed(SemiClosed {
            loop_l: 6.0,
            feed: Feed { constant_lpm: 6.0, controlled_lpm: 20.0 },
            make_up_lpm: f64::INFINITY,
            supply: 0,
            scrubber: Scrubber { quotient: 1.0, rated_co2_lpm: Some(1.2) },
        }),
        cylinders: Arc::from([supply]),
        set_point: Some(0.27),
        pre_breathe_min: 5.0,
        rest: work(0.7),
        legs: legs.iter().map(|&(to, lasts, oxygen)| Leg::new(to, lasts, work(oxygen), Why::Asked(0))).collect(),
        inflates: Some(0),
        carried: Exposure::default(),
        home: Home::default(),
        limits: Limits { floor_o2: 0.21, absorbent_min: 120.0, ..Limits::default() },
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

criterion_group!(group, benches);
criterion_main!(group);
