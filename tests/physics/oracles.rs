//! Worked examples for the loop and the clocks, derived by hand from the balance and each confirmed by an independent
//! Runge-Kutta run. All litres free, 1 bar at the surface, 10 m to a bar.

use super::failure::{FeedFails, feed_failure};
use leadsman::physics::litres::{FREE_PER_STPD, free_from_stpd};
use leadsman::physics::loop_balance::{
    Feed, feed_that_holds_lpm, greatest_metabolic_lpm, leanest_supply_o2, steady_o2,
};
use leadsman::physics::oxygen::{Clock, clock_after_surface};
use leadsman::physics::pressure::ATMOSPHERE_BAR;
use leadsman::physics::transient::{flush_volumes, flushed};
use leadsman::physics::{Mix, closed, emergency, gas};
use leadsman::run::{Act, Circuit, Closed, EventKind, Leg, Purpose, SemiClosed, Why};

use super::dives::{CLOSED, SEMI_CLOSED, cylinder, dive, lasting, leg, loop_at, run_from, semi_closed, work};
use super::near;

#[test]
fn feed_at_the_set_point() {
    let feed = Feed { constant_lpm: 6.0, controlled_lpm: 20.0 };
    for (metabolic, expected) in [(1.0, 8.111), (1.5, 12.167), (3.0, 24.333)] {
        near(feed_that_holds_lpm(0.27, 0.36, metabolic).unwrap(), expected, 5e-4);
        near(feed.at_set_point_lpm(0.27, 0.36, metabolic), expected, 5e-4);
        // The run holds it with just that.
        let dive = semi_closed(SEMI_CLOSED, 0.36, vec![leg(30.0, 10.0, metabolic)]);
        let track = run_from(&dive, loop_at(&dive, 30.0, 0.27));
        near(track.used_l(0, Purpose::Feed), 10.0 * expected, 5e-3);
        near(track.end.breathed.o2, 0.27, 1e-15);
    }
    near(greatest_metabolic_lpm(0.27, 26.0, 0.36), 3.205, 5e-4);
    near(feed.steady_o2(0.27, 0.36, 3.5).unwrap(), 0.26044, 5e-6);
    // Beyond it the valve is full open, and the loop goes to the steady state below.
    let dive = semi_closed(SEMI_CLOSED, 0.36, vec![leg(30.0, 120.0, 3.5)]);
    let track = run_from(&dive, loop_at(&dive, 30.0, 0.27));
    assert!(track.first(EventKind::ValveSaturated).is_some());
    near(track.end.breathed.o2, 0.26044, 5e-6);
}

#[test]
fn leanest_supply() {
    near(leanest_supply_o2(0.21, 26.0, 3.0).unwrap(), 0.30115, 5e-6);
    near(leanest_supply_o2(0.21, 30.0, 3.0).unwrap(), 0.28900, 5e-6);
    near(leanest_supply_o2(0.21, 16.0, 3.0).unwrap(), 0.35813, 5e-6);
}

#[test]
fn litres_of_oxygen() {
    near(FREE_PER_STPD, 1.08744, 5e-6);
    near(steady_o2(6.0, 0.36, free_from_stpd(1.0)).unwrap(), 0.21833, 5e-6);
    near(steady_o2(6.0, 0.36, 1.0).unwrap(), 0.2320, 5e-5);
}

#[test]
fn pre_breathe() {
    let mut unit = SEMI_CLOSED;
    unit.feed.controlled_lpm = 0.0;
    let mut dive = semi_closed(unit, 0.36, vec![]);
    dive.pre_breathe_min = 5.0;
    dive.rest = work(0.7);
    let track = dive.run();
    near(track.segments[0].start.t_min, -5.0, 0.0);
    near(track.end.t_min, 0.0, 1e-12);
    near(track.end.breathed.o2, 0.27468, 5e-6);
    near(track.used_l(0, Purpose::PreBreathe), 30.0, 1e-9);
    near(track.used_l(0, Purpose::Feed), 0.0, 0.0);
}

#[test]
fn descent_and_bottom() {
    let dive = semi_closed(SEMI_CLOSED, 0.36, vec![leg(30.0, 2.0, 1.0), leg(30.0, 20.0, 1.0)]);
    let track = run_from(&dive, loop_at(&dive, 0.0, 0.27547));
    let bottom = track.at(2.0);
    near(bottom.breathed.o2, 0.28309, 5e-6);
    near(bottom.breathed.o2 * bottom.bar, 1.1324, 5e-5);
    // 2·(1 + 6·0.95442·1.5): the body's litre and what the loop gains.
    near(dive.cylinders[0].full_l - bottom.litres[0], 19.1796, 5e-5);
    let make_up: f64 =
        track.segments[0].regime.draws.iter().filter(|d| d.purpose == Purpose::MakeUp).map(|d| d.lpm).sum();
    near(make_up, 3.5898, 5e-5);
    // Then at 30 m: time constant 4.520 min towards 0.232, the set-point after 1.338 min, from there 8.111.
    let reached = track.first(EventKind::SetPointReached).unwrap();
    near(reached.t_min - 2.0, 1.338, 1e-3);
    let held = track.segment_at(10.0).unwrap();
    assert!(held.holds_set_point());
    near(held.lpm_at(0.0, Purpose::Feed), 8.111, 5e-4);
}

#[test]
fn both_feeds_shut() {
    let shut = SemiClosed { feed: Feed::default(), ..SEMI_CLOSED };
    let dive = semi_closed(shut, 0.36, vec![leg(30.0, 8.0, 1.5)]);
    let with = run_from(&dive, loop_at(&dive, 30.0, 0.27));
    near(with.first(EventKind::BelowFloor).unwrap().t_min, 1.41255, 5e-6);
    near(with.first(EventKind::Faint).unwrap().t_min, 5.41479, 5e-6);

    let dive = semi_closed(SemiClosed { make_up_lpm: 0.0, ..shut }, 0.36, vec![leg(30.0, 8.0, 1.5)]);
    let without = run_from(&dive, loop_at(&dive, 30.0, 0.27));
    near(without.first(EventKind::BelowFloor).unwrap().t_min, 1.1443, 5e-5);
    let faint = without.first(EventKind::Faint).unwrap().t_min;
    near(faint, 3.6099, 5e-5);
    let state = without.at(faint);
    near(6.0 * state.breathed.litres / super::dives::loop_free_l(6.0, 4.0), 4.5625, 5e-4);

    // The same from the failure's own account, the way up included.
    let whole = semi_closed(SEMI_CLOSED, 0.36, vec![]);
    let fails = FeedFails { constant: true, controlled: true, make_up: false };
    let failure = feed_failure(&whole, &loop_at(&whole, 30.0, 0.27), fails, work(1.5), 9.0).unwrap();
    near(failure.to_floor_min.unwrap(), 1.41255, 5e-6);
    near(failure.to_faint_min.unwrap(), 5.41479, 5e-6);
    assert_eq!(failure.to_short_min, None);
    assert!(failure.po2_at_surface_bar < 0.16, "{failure:?}");
    // 0.66 bar at depth, and yet under 0.16 at the surface: staying hides it.
    let later = feed_failure(&whole, &loop_at(&whole, 30.0, 0.165), fails, work(1.5), 9.0).unwrap();
    assert!(later.to_faint_min.unwrap() > 1.0 && later.po2_at_surface_bar < 0.16, "{later:?}");
}

/// The open-circuit part of a bail-out, counted by the run: 2 minutes at 45 L/min, the ascent and its stop at 24.
#[test]
fn bail_out_gas() {
    let peak = |to_m, lasts| leg_gas(to_m, lasts, 45.0);
    let calm = |to_m, lasts| leg_gas(to_m, lasts, 24.0);
    let legs = vec![peak(30.0, 2.0).doing(Act::Breathe(1)), calm(3.0, 3.0), calm(3.0, 3.0), calm(0.0, 1.0 / 3.0)];
    let dive = dive(Circuit::SemiClosed(SEMI_CLOSED), vec![cylinder(12.0, Mix::nitrox(0.36), 200.0)], Some(0.27), legs);
    let track = run_from(&dive, loop_at(&dive, 30.0, 0.27));
    let parts: Vec<f64> =
        track.segments.iter().map(|s| s.regime.draws.iter().map(|d| d.litres(s.minutes)).sum()).collect();
    for (part, expected) in parts.iter().zip([360.0, 190.8, 93.6, 9.2]) {
        near(*part, expected, 0.05);
    }
    let litres = track.used_l(0, Purpose::OpenCircuit);
    near(litres, 653.6, 0.05);
    near(litres / 12.0, 54.47, 0.005);
}

fn leg_gas(to_m: f64, lasts_min: f64, gas_lpm: f64) -> Leg {
    Leg::new(to_m, lasts_min, leadsman::run::Work { oxygen_lpm: 1.0, gas_lpm }, Why::BailOut)
}

#[test]
fn closed_loop_descent_and_ascent() {
    let unit = Closed { inject_lpm: 0.0, ..CLOSED };
    for (metabolic, expected) in [(0.0, 1.31015), (1.0, 1.03051)] {
        let dive = dive(
            Circuit::Closed(unit),
            vec![lasting(Mix::OXYGEN), lasting(Mix::AIR)],
            Some(0.7),
            vec![leg(30.0, 2.0, metabolic)],
        );
        let track = run_from(&dive, loop_at(&dive, 0.0, 0.7));
        near(track.end.breathed.o2 * track.end.bar, expected, 5e-5);
    }
    // Holding 1.3 bar at 2 bar ambient, going up 9 m a minute.
    near(closed::inject_that_holds_lpm(1.3, 2.0, -0.9, 0.21, 6.0, 1.0), 10.316, 1e-3);
    let dive = dive(
        Circuit::Closed(CLOSED),
        vec![lasting(Mix::OXYGEN), lasting(Mix::AIR)],
        Some(1.3),
        vec![leg(9.5, 0.5 / 9.0, 1.0)],
    );
    let track = run_from(&dive, loop_at(&dive, 10.0, 0.65));
    near(track.segments[0].lpm_at(0.0, Purpose::Feed), 10.316, 1e-3);
}

#[test]
fn flush() {
    for (depth, litres) in [(0.0, 3.2411), (30.0, 13.5116)] {
        let bar = 1.0 + depth / 10.0;
        let volumes = flush_volumes(0.16, 0.25, 0.36).unwrap();
        near(volumes * super::dives::loop_free_l(6.0, bar), litres, 5e-4);
        near(flushed(0.16, 0.36, volumes), 0.25, 1e-12);
        let dive = semi_closed(SEMI_CLOSED, 0.36, vec![leg(depth, 0.0, 1.0).doing(Act::Flush(volumes))]);
        let track = run_from(&dive, loop_at(&dive, depth, 0.16));
        near(track.end.breathed.o2, 0.25, 1e-12);
        near(track.used_l(0, Purpose::Flush), litres, 5e-4);
    }
}

#[test]
fn oxygen_clock() {
    near(1.40 / ATMOSPHERE_BAR, 1.3817, 5e-5);
    near(Clock::Single.per_min(1.40), 0.0064633, 5e-8);
    let clock = Clock::Single.over(1.40, 1.40, 60.0);
    near(clock, 0.3878, 5e-5);
    near(clock_after_surface(clock, 95.0), 0.1866, 5e-5);
}

#[test]
fn emergency_oxygen() {
    near(emergency::minutes(2.0 * gas::ideal_free_l(10.0, 200.0), emergency::FIRST_AID_LPM), 266.7, 0.05);
}
