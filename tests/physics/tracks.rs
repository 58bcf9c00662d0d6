//! What a track accounts for: every litre, what happened when, what was taken.

use super::failure::{FeedFails, feed_failure};
use leadsman::physics::passive::{spill_lpm, steady_o2};
use leadsman::physics::pressure::ATMOSPHERE_BAR;
use leadsman::physics::{Mix, SetPoint, Water};
use leadsman::run::{Act, Circuit, Ended, EventKind, Exposure, Leg, Limits, Open, Profile, Purpose, SemiClosed, Why};

use super::dives::{SEMI_CLOSED, cylinder, dive, lasting, leg, loop_at, run_from, semi_closed, work};
use super::{near, number, table};

/// Suit 6 L a bar of descent, wing 5 L at depth and 15 L at the surface (common practice, no source).
#[test]
fn suit_and_wing() {
    let mut dive = dive(
        Circuit::Open(Open { cylinder: 0 }),
        vec![lasting(Mix::AIR), cylinder(2.0, Mix::AIR, 200.0)],
        None,
        vec![leg(30.0, 2.0, 1.0), leg(30.0, 5.0, 1.0), leg(0.0, 3.0, 1.0)],
    );
    dive.inflates = Some(1);
    let track = dive.run();
    near(track.used_l(1, Purpose::Inflation), 6.0 * 3.0 + 5.0 * 4.0 + 15.0, 1e-9);
    near(dive.cylinders[1].full_l - track.end.litres[1], 53.0, 1e-9);
}

/// A bail-out in the middle of a stay: the loop keeps its mix, the mouthpiece draws from the supply, and going back on
/// the loop fills it up.
#[test]
fn off_the_loop_and_back() {
    let off = Open::source(0);
    let dive = semi_closed(
        SEMI_CLOSED,
        0.36,
        vec![
            leg(20.0, 10.0, 1.0),
            leg(20.0, 3.0, 1.0).doing(Act::Breathe(off)),
            leg(30.0, 1.0, 1.0),
            leg(30.0, 5.0, 1.0).doing(Act::Breathe(0)),
        ],
    );
    let track = run_from(&dive, loop_at(&dive, 20.0, 0.30));
    let (left, back) = (track.at(12.0), track.at(13.999_999_999));
    near(left.breathed.o2, back.breathed.o2, 0.0);
    near(track.used_l(0, Purpose::OpenCircuit), 20.0 * (3.0 * 3.0 + 3.5), 1e-9);
    // Ten metres deeper the loop lacks 6·293.15/307.15 litres.
    let refilled = track.at(14.0);
    near(refilled.breathed.litres, 22.600_848_543, 1e-9);
    near(refilled.breathed.o2, 0.36 + (left.breathed.o2 - 0.36) * 2.9467 / 3.9467, 1e-12);
    near(track.used_l(0, Purpose::MakeUp), 5.726_517_988, 1e-9);
    assert_eq!(track.ended, Ended::Route);
}

/// Reserve and empty at the gauge readings that stand for them, and a supply that runs out starves the loop.
#[test]
fn a_supply_runs_out() {
    let mut dive = semi_closed(SEMI_CLOSED, 0.36, vec![leg(20.0, 400.0, 1.0)]);
    dive.cylinders = [cylinder(12.0, Mix::nitrox(0.36), 200.0)].into();
    let track = run_from(&dive, loop_at(&dive, 20.0, 0.27));
    let reserve = track.first(EventKind::CylinderReserve(0)).unwrap();
    near(track.at(reserve.t_min).gauge_bar(0).unwrap(), 50.0, 1e-6);
    let empty = track.first(EventKind::CylinderEmpty(0)).unwrap();
    near(track.at(empty.t_min).gauge_bar(0).unwrap(), 0.0, 1e-6);
    // What the set-point costs, from start to reserve.
    near(reserve.t_min * 8.0 / 0.9 * 0.9125, dive.cylinders[0].full_l - dive.cylinders[0].reserve_l, 1e-6);
    let floor = track.first(EventKind::BelowFloor).unwrap();
    assert!(floor.t_min > empty.t_min && floor.t_min < empty.t_min + 10.0);
    assert!(track.first(EventKind::Faint).is_some());
}

/// Depth opens and shuts a mix at its operating depth.
#[test]
fn mixes_become_breathable() {
    let mut dive = semi_closed(SEMI_CLOSED, 0.36, vec![leg(40.0, 4.0, 1.0), leg(0.0, 4.0, 1.0)]);
    dive.cylinders = [lasting(Mix::nitrox(0.36)), cylinder(7.0, Mix::nitrox(0.5), 200.0)].into();
    let track = run_from(&dive, loop_at(&dive, 0.0, 0.27));
    // 1.6 bar of 50 % is 22 m.
    near(track.first(EventKind::MixUnbreathable(1)).unwrap().t_min, 2.2, 1e-12);
    near(track.first(EventKind::MixBreathable(1)).unwrap().t_min, 5.8, 1e-12);
}

/// Absorbent: harder work wears it out faster, easier earns nothing, and its end is told.
#[test]
fn absorbent_wears_out() {
    let mut unit = SEMI_CLOSED;
    // 1.2 litres a minute, STPD.
    unit.scrubber.rated_co2 = Some(leadsman::physics::litres::Stpd(1.2));
    let free = leadsman::physics::litres::free_from_stpd(1.8);
    let mut dive = semi_closed(unit, 0.40, vec![leg(10.0, 20.0, 0.5), leg(10.0, 20.0, free)]);
    dive.limits = Limits { absorbent_min: 35.0, ..dive.limits };
    let track = run_from(&dive, loop_at(&dive, 10.0, 0.27));
    near(track.end.exposure.absorbent_min, 20.0 + 30.0, 1e-9);
    near(track.first(EventKind::AbsorbentSpent).unwrap().t_min, 30.0, 1e-9);
    near(track.end.exposure.co2_l, 20.0 * 0.5 + 20.0 * free, 1e-9);
}

/// What a feed's tolerance means: the loop's oxygen by the low end, the litres by the high end.
#[test]
fn feed_tolerance() {
    let mut unit = SEMI_CLOSED;
    unit.feed.controlled_lpm = 0.0;
    let mut dive = semi_closed(unit, 0.36, vec![leg(10.0, 60.0, 1.0)]);
    dive.pre_breathe_min = 5.0;
    let (low, plain, high) = (dive.at_low_feed(0.1).run(), dive.run(), dive.at_high_feed(0.1).run());
    assert!(low.end.breathed.o2 < plain.end.breathed.o2 && plain.end.breathed.o2 < high.end.breathed.o2);
    near(high.used_l(0, Purpose::Feed), 1.1 * plain.used_l(0, Purpose::Feed), 1e-9);
    near(low.end.breathed.o2, (5.4 * 0.36 - 1.0) / 4.4, 1e-6);
}

/// A controller holds its set-point within a band.
#[test]
fn extremes_are_widened_by_the_band() {
    let mut dive = semi_closed(SEMI_CLOSED, 0.36, vec![leg(30.0, 2.0, 1.0), leg(30.0, 20.0, 1.5), leg(0.0, 3.0, 1.0)]);
    dive.pre_breathe_min = 5.0;
    dive.limits.band_o2 = 0.01;
    let track = dive.run();
    let extremes = track.extremes(0.0, &dive.limits).unwrap();
    near(extremes.least_o2.0, 0.26, 1e-9);
    near(extremes.greatest_bar.0, 4.0, 1e-12);
    assert!(extremes.greatest_po2_bar.0 >= 0.28 * 4.0 - 1e-12);
    // Before leaving the surface the loop still holds breathed air.
    near(track.extremes(-5.0, &dive.limits).unwrap().least_o2.0, 0.17, 1e-12);
}

/// A set-point changed under way, and a flush.
#[test]
fn set_point_and_flush_under_way() {
    let dive = semi_closed(
        SEMI_CLOSED,
        0.40,
        vec![
            leg(15.0, 5.0, 1.5),
            leg(15.0, 10.0, 1.5).doing(Act::SetPoint(SetPoint::Fraction(0.32))),
            leg(15.0, 1.0, 1.5).doing(Act::Flush(3.0)),
        ],
    );
    let track = run_from(&dive, loop_at(&dive, 15.0, 0.27));
    near(track.at(4.9).breathed.o2, 0.27, 1e-15);
    near(track.at(14.9).breathed.o2, 0.32, 1e-15);
    near(track.at(15.0).breathed.o2, 0.40 - 0.08 * libm::exp(-3.0), 1e-12);
    near(track.used_l(0, Purpose::Flush), 3.0 * super::dives::loop_free_l(6.0, 2.5), 1e-9);
    assert!(track.first(EventKind::Flushed).is_some());
}

/// Metabolic oxygen does not change with depth, so neither does endurance on a controlled feed (common practice, no
/// source).
#[test]
fn endurance_on_a_controlled_feed_does_not_change_with_depth() {
    let reserve = |depth: f64| {
        let mut unit = SEMI_CLOSED;
        (unit.feed.constant_lpm, unit.feed.controlled_lpm) = (0.0, 30.0);
        let mut dive = semi_closed(unit, 0.36, vec![leg(depth, 500.0, 1.0)]);
        dive.cylinders = [cylinder(12.0, Mix::nitrox(0.36), 200.0)].into();
        run_from(&dive, loop_at(&dive, depth, 0.27)).first(EventKind::CylinderReserve(0)).unwrap().t_min
    };
    near(reserve(30.0), reserve(3.0), 1e-9);
}

/// A failed feed counts from where the dive is: the later on a leg, the same; the deeper, the longer.
#[test]
fn a_failed_feed_from_several_moments() {
    let dive = semi_closed(
        SEMI_CLOSED,
        0.36,
        vec![leg(30.0, 2.0, 1.0), leg(30.0, 20.0, 1.0), leg(10.0, 2.0, 1.0), leg(10.0, 10.0, 1.0)],
    );
    let track = run_from(&dive, loop_at(&dive, 0.0, 0.27));
    let controlled = FeedFails { constant: false, controlled: true, make_up: false };
    let both = FeedFails { constant: true, ..controlled };
    let deep = feed_failure(&dive, &track.at(15.0), both, work(1.5), 9.0).unwrap();
    let shallow = feed_failure(&dive, &track.at(34.0), both, work(1.5), 9.0).unwrap();
    near(deep.to_floor_min.unwrap() / shallow.to_floor_min.unwrap(), 3.9467 / 1.9467, 1e-9);
    // The constant feed alone holds 23 % at 1 L/min, not at 2.2.
    let easy = feed_failure(&dive, &track.at(15.0), controlled, work(1.0), 9.0).unwrap();
    let hard = feed_failure(&dive, &track.at(15.0), controlled, work(2.2), 9.0).unwrap();
    assert_eq!(easy.to_floor_min, None);
    assert!(hard.to_floor_min.unwrap() < 3.0 && hard.po2_at_surface_bar < easy.po2_at_surface_bar);
    assert!(hard.least_po2_going_up_bar <= hard.po2_at_surface_bar);
    let open = super::dives::dive(Circuit::Open(Open { cylinder: 0 }), vec![lasting(Mix::AIR)], None, vec![]);
    assert_eq!(feed_failure(&open, &open.start(), both, work(1.0), 9.0), None);
}

/// The clock halves in 90 minutes at the surface (common practice, no source); the rest of an exposure stays.
#[test]
fn an_interval_at_the_surface() {
    let before =
        Exposure { clock: 0.4, day: 0.3, units: 50.0, absorbent_min: 60.0, co2_l: 70.0, ..Exposure::default() };
    let after = before.after_surface(90.0);
    near(after.clock, 0.2, 1e-15);
    assert_eq!((after.day, after.units, after.absorbent_min), (0.3, 50.0, 60.0));
}

/// Open circuit past an empty cylinder says how much was lacking.
#[test]
fn open_circuit_counts_on() {
    let dive = dive(
        Circuit::Open(Open { cylinder: 0 }),
        vec![cylinder(10.0, Mix::AIR, 100.0)],
        None,
        vec![Leg::new(20.0, 2.0, work(1.0), Why::Asked(0)), Leg::new(20.0, 30.0, work(1.0), Why::Asked(1))],
    );
    let track = dive.run();
    assert!(track.first(EventKind::CylinderEmpty(0)).is_some());
    near(track.end.litres[0], dive.cylinders[0].full_l - 20.0 * (2.0 * 2.0 + 30.0 * 3.0), 1e-9);
    near(track.end.gauge_bar(0).unwrap(), 0.0, 0.0);
}

/// Passive addition at 130 feet of sea water, from the formula of the table (a tested unit reported up to 1.32 atm).
#[test]
fn passive_steady_state() {
    let water = Water { surface_bar: 1.0, bar_per_m: 1.0 / 33.0 };
    let atm = water.pressure_bar(130.0);
    let mut looked = 0;
    for row in table("scr_mass_balance.csv") {
        if &row[0] != "PASCR_model_vs_test" {
            continue;
        }
        let ratio: f64 = row[1].rsplit('=').next().unwrap().parse().unwrap();
        let o2 = steady_o2(0.37, 1.0, 0.0625 * ratio * atm).unwrap();
        near(o2 * atm, number(&row, 2), 6e-4);
        looked += 1;
    }
    assert_eq!(looked, 4);
    // 25 litres at body state for an STPD litre of oxygen, a tenth of them, dry and at 20 °C: 25·0.9467·293.15/307.15/10.
    near(spill_lpm(1.08744, 10.0, 1.0), 2.2589, 1e-4);
    near(spill_lpm(1.08744, 10.0, 4.0), 9.4170, 2e-4);
    near(ATMOSPHERE_BAR, 1.01325, 0.0);
}

/// A unit nobody could build, and a source that isn't there.
#[test]
fn nonsense_ends_a_run() {
    let broken = SemiClosed { loop_l: 0.0, ..SEMI_CLOSED };
    let dive = semi_closed(broken, 0.36, vec![leg(10.0, 1.0, 1.0)]);
    assert_eq!(dive.run().ended, Ended::Nonsense);
    let nowhere = semi_closed(SEMI_CLOSED, 0.36, vec![leg(10.0, 1.0, 1.0).doing(Act::Breathe(9))]);
    assert_eq!(nowhere.run().ended, Ended::NoSource);
    let never = semi_closed(SEMI_CLOSED, 0.36, vec![leg(f64::NAN, 1.0, 1.0)]);
    assert_eq!(never.run().ended, Ended::Nonsense);
}

/// Checks before the dive take their gas from what feeds the loop, and no more than there is.
#[test]
fn checks_are_charged() {
    let plain = semi_closed(SEMI_CLOSED, 0.36, vec![leg(20.0, 2.0, 1.0), leg(20.0, 10.0, 1.0)]);
    let checked = Profile { checks_l: 80.0, ..plain.clone() };
    let (before, after) = (plain.run(), checked.run());
    near(after.used_l(0, Purpose::Check), 80.0, 1e-9);
    near(before.end.litres[0] - after.end.litres[0], 80.0, 1e-9);
    let all = Profile { checks_l: 1e9, ..plain }.run();
    near(all.used_l(0, Purpose::Check), all.start().litres[0] - all.start().kit[0].unusable_l, 1e-6);
}
