//! Dives to test with, in the frame of the worked examples: 1 bar at the surface, 10 m to a bar, a 6 L loop, all litres
//! free, 36 % supply, constant feed 6, controlled up to 20, set-point 27 %.

use std::sync::Arc;

use leadsman::physics::loop_balance::Feed;
use leadsman::physics::{Mix, SetPoint, Water};
use leadsman::run::{
    Breathing, Circuit, Closed, Cylinder, Exposure, Filled, Home, Leg, Limits, LoopGas, Passive, Planned, Profile,
    Scrubber, SemiClosed, State, Track, Why, Work, run,
};

/// Ten metres to a bar under one bar.
pub const WATER: Water = Water { surface_bar: 1.0, bar_per_m: 0.1 };

/// The limits of the worked examples: floor 21 %, no band.
pub fn limits() -> Limits {
    Limits { floor_o2: 0.21, band_o2: 0.0, ..Limits::default() }
}

/// A cylinder so large that it never runs empty.
pub fn lasting(mix: Mix) -> Cylinder {
    cylinder(1000.0, mix, 200.0)
}

/// A cylinder at 20 °C with 50 bar reserve and nothing unusable.
pub fn cylinder(size_l: f64, mix: Mix, gauge_bar: f64) -> Cylinder {
    Cylinder::new(Filled {
        size_l,
        mix,
        gauge_bar,
        read_c: 20.0,
        water_c: 20.0,
        surface_bar: 1.0,
        reserve_bar: 50.0,
        unusable_bar: 0.0,
        greatest_po2_bar: 1.6,
    })
    .unwrap()
}

/// The semi-closed unit of the worked examples.
pub const SEMI_CLOSED: SemiClosed = SemiClosed {
    loop_l: 6.0,
    feed: Feed { constant_lpm: 6.0, controlled_lpm: 20.0 },
    make_up_lpm: f64::INFINITY,
    supply: 0,
    scrubber: Scrubber { quotient: 1.0, rated_co2: None },
};

/// A passive unit that spills one part in ten.
pub const PASSIVE: Passive = Passive {
    loop_l: 6.0,
    ratio: 10.0,
    compensated: false,
    supply: 0,
    adds: true,
    scrubber: Scrubber { quotient: 1.0, rated_co2: None },
};

/// A closed unit: oxygen in cylinder 0, diluent in cylinder 1.
pub const CLOSED: Closed = Closed {
    loop_l: 6.0,
    inject_lpm: 20.0,
    make_up_lpm: f64::INFINITY,
    oxygen: 0,
    diluent: 1,
    scrubber: Scrubber { quotient: 1.0, rated_co2: None },
};

/// Work that takes so much oxygen, free litres a minute, and 20 times as much gas on open circuit.
pub fn work(oxygen_lpm: f64) -> Work {
    Work { oxygen_lpm, gas_lpm: 20.0 * oxygen_lpm }
}

/// A leg to a depth.
pub fn leg(to_m: f64, lasts_min: f64, oxygen_lpm: f64) -> Leg {
    Leg::new(to_m, lasts_min, work(oxygen_lpm), Why::Asked(0))
}

/// A set-point as an apparatus holds it: bar on a closed loop, else a fraction.
pub fn set_point_of(circuit: &Circuit, number: f64) -> SetPoint {
    match circuit {
        Circuit::Closed(_) => SetPoint::Bar(number),
        _ => SetPoint::Fraction(number),
    }
}

/// A dive without pre-breathe on an apparatus.
pub fn dive(circuit: Circuit, cylinders: Vec<Cylinder>, set_point: Option<f64>, legs: Vec<Leg>) -> Profile {
    Profile {
        water: WATER,
        circuit,
        cylinders: Arc::from(cylinders),
        set_point: set_point.map(|number| set_point_of(&circuit, number)),
        pre_breathe_min: 0.0,
        checks_l: 0.0,
        rest: work(0.7),
        legs,
        inflates: None,
        carried: Exposure::default(),
        home: Home::default(),
        limits: limits(),
        others: Arc::from([]),
    }
}

/// A dive on the semi-closed unit of the worked examples.
pub fn semi_closed(unit: SemiClosed, supply_o2: f64, legs: Vec<Leg>) -> Profile {
    dive(Circuit::SemiClosed(unit), vec![lasting(Mix::nitrox(supply_o2))], Some(0.27), legs)
}

/// Free litres in a full loop, whose gas is wet and at 34 °C.
pub fn loop_free_l(loop_l: f64, bar: f64) -> f64 {
    loop_l * (bar - 0.0533) * 293.15 / 307.15
}

/// The state of a full loop at a depth with so much oxygen.
pub fn loop_at(dive: &Profile, depth_m: f64, o2: f64) -> State {
    let bar = dive.water.pressure_bar(depth_m);
    State {
        t_min: 0.0,
        bar,
        breathed: LoopGas { o2, he: 0.0, litres: loop_free_l(dive.circuit.loop_l(), bar) },
        ..dive.start()
    }
}

/// Runs a dive's legs from another state.
pub fn run_from(dive: &Profile, state: State) -> Track {
    let sources: Vec<Box<dyn Breathing>> = dive.sources();
    run(state, &mut Planned::new(&dive.legs), &sources, &dive.limits)
}
