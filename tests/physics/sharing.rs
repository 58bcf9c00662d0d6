//! Two divers on one cylinder: worked by hand, and as properties of any two dives.

use std::sync::Arc;

use leadsman::physics::Mix;
use leadsman::run::{Circuit, Cylinder, EventKind, Home, Open, Profile, Track, WayOut, Work};
use proptest::prelude::*;

use super::dives::{cylinder, dive, leg, work};
use super::near;
use super::properties::some_dive;

/// A cylinder that several draw from.
fn common(number: usize, mut cylinder: Cylinder) -> Cylinder {
    cylinder.common = Some(number);
    cylinder
}

/// The same dive beside another on the same gas.
fn beside(dive: &Profile, other: &Profile) -> Profile {
    Profile { others: Arc::from([other.clone()]), ..dive.clone() }
}

fn open(oxygen_lpm: f64, minutes: f64) -> Profile {
    let legs = vec![leg(30.0, 0.0, oxygen_lpm), leg(30.0, minutes, oxygen_lpm)];
    let shared = common(0, cylinder(12.0, Mix::AIR, 200.0));
    dive(Circuit::Open(Open { cylinder: 0 }), vec![shared], None, legs)
}

fn empties(track: &Track, cylinder: usize) -> Option<f64> {
    track.first(EventKind::CylinderEmpty(cylinder)).map(|event| event.t_min)
}

/// At 30 m, 4 bar: 20 and 30 L/min at the surface are 80 and 120 free litres a minute, 200 together. The way down, slowed
/// to 100 bar a minute, takes 0.03 min at 2.5 bar in the mean: 1.5 and 2.25 L.
#[test]
fn two_on_open_circuit_empty_it_together() {
    let (one, other) = (open(1.0, 60.0), open(1.5, 60.0));
    let (first, second) = (beside(&one, &other).run(), beside(&other, &one).run());
    let kit = &one.cylinders[0];
    let expected = 0.03 + (kit.full_l - kit.unusable_l - 3.75) / 200.0;
    near(empties(&first, 0).unwrap(), expected, 1e-9);
    near(empties(&second, 0).unwrap(), expected, 1e-9);
    near(first.at(5.03).litres[0], kit.full_l - 3.75 - 1000.0, 1e-6);
    // Alone the first would have had more than twice the time.
    let alone = one.run();
    near(empties(&alone, 0).unwrap(), 0.03 + (kit.full_l - kit.unusable_l - 1.5) / 80.0, 1e-9);
}

/// Whoever comes up earlier leaves the rest to the other.
#[test]
fn whoever_is_gone_draws_no_more() {
    let (one, other) = (open(1.0, 20.0), open(1.0, 5.0));
    let first = beside(&one, &other).run();
    let kit = &one.cylinders[0];
    near(first.end.litres[0], kit.full_l - 2.0 * 1.5 - 80.0 * 25.0, 1e-6);
}

/// From 30 m both get out on the one cylinder: two minutes at 4 bar on 60 L/min, then 30/9 min at 2.5 bar in the mean on
/// 24 L/min: 480 + 200 L each.
#[test]
fn both_get_out_on_the_gas_they_share() {
    let breathing = |gas_lpm: f64| Work { gas_lpm, ..work(1.0) };
    let mut one = open(1.0, 20.0);
    let ascent = leadsman::run::Ascent { rate_m_per_min: 9.0, last: None, work: breathing(24.0) };
    let out = WayOut { problem_min: 2.0, problem: breathing(60.0), ascent, divers: 1.0, fade: None };
    one.home = Home { way_out: vec![0], out: Some(out), ascent, ..Home::default() };
    let pair = beside(&one, &one);
    let track = pair.run();
    let escape = pair.escape_from(track.at(3.0), &pair.sources(), &out);
    near(escape.draws_l[0], 2.0 * (480.0 + 200.0), 1e-6);
    assert!(escape.lacks_l == 0.0);
    // A buddy's spare is the buddy's own until then, so it is drawn from once.
    let mut needy = one.clone();
    needy.home.spare = vec![0];
    let mut owner = one.clone();
    owner.circuit = Circuit::Open(Open { cylinder: 1 });
    owner.cylinders = Arc::from([one.cylinders[0].clone(), cylinder(12.0, Mix::AIR, 200.0)]);
    let needy = beside(&needy, &owner);
    let escape = needy.escape_from(needy.run().at(3.0), &needy.sources(), &out);
    near(escape.draws_l[0], 480.0 + 200.0, 1e-6);
}

proptest! {
    #![proptest_config(crate::seed::properties(96))]

    /// Whatever the two breathe from, they see the same content at every moment, and as long as it gives gas that is what
    /// was in it less what each would draw alone.
    #[test]
    fn both_see_what_both_have_drawn(one in some_dive(), other in some_dive(), share in 0.0..1.0_f64) {
        let mut other = other;
        let mut one = one;
        one.cylinders = [common(0, one.cylinders[0].clone()), one.cylinders[1].clone()].into();
        other.cylinders = [one.cylinders[0].clone(), other.cylinders[1].clone()].into();
        let (first, second) = (beside(&one, &other).run(), beside(&other, &one).run());
        let (alone, other_alone) = (one.run(), other.run());
        let t_min = share * first.end.t_min.min(second.end.t_min);
        let seen = first.at(t_min).litres[0];
        let full = one.cylinders[0].full_l;
        prop_assert!((seen - second.at(t_min).litres[0]).abs() <= 1e-6 * full.max(1.0), "{seen}");
        let drawn = |track: &Track, full_l: f64| full_l - track.at(t_min).litres[0];
        let expected = full - drawn(&alone, full) - drawn(&other_alone, full);
        let empty = empties(&first, 0).into_iter().chain(empties(&second, 0)).fold(f64::INFINITY, f64::min);
        if t_min < empty {
            prop_assert!((seen - expected).abs() <= 1e-6 * full.max(1.0), "{seen} {expected}");
        } else {
            prop_assert!(expected <= one.cylinders[0].unusable_l + 1e-6 * full.max(1.0), "{expected}");
        }
    }

    /// A second diver on it never makes gas last longer.
    #[test]
    fn company_never_lengthens_the_gas(one in some_dive(), other in some_dive()) {
        let mut one = one;
        let mut other = other;
        one.cylinders = [common(0, one.cylinders[0].clone()), one.cylinders[1].clone()].into();
        other.cylinders = [one.cylinders[0].clone(), other.cylinders[1].clone()].into();
        let alone = empties(&one.run(), 0).unwrap_or(f64::INFINITY);
        let together = empties(&beside(&one, &other).run(), 0).unwrap_or(f64::INFINITY);
        prop_assert!(together <= alone + 1e-9, "{together} {alone}");
    }
}
