//! What holds of every dive, margin by margin.

use leadsman::physics::Mix;
use leadsman::physics::loop_balance::Feed;
use leadsman::run::{
    Act, Breath, Circuit, Closed, EventKind, Leg, Limits, Passive, Planned, Profile, Purpose, SemiClosed, Track, Work,
    run,
};
use proptest::prelude::*;

use super::dives::{
    CLOSED, PASSIVE, SEMI_CLOSED, cylinder, dive, lasting, leg, loop_at, run_from, semi_closed, set_point_of,
};

/// So many times as hard.
fn times(work: Work, factor: f64) -> Work {
    Work { oxygen_lpm: work.oxygen_lpm * factor, gas_lpm: work.gas_lpm * factor }
}

const PURPOSES: [Purpose; 8] = [
    Purpose::Feed,
    Purpose::MakeUp,
    Purpose::Spill,
    Purpose::Flush,
    Purpose::PreBreathe,
    Purpose::Check,
    Purpose::OpenCircuit,
    Purpose::Inflation,
];

prop_compose! {
    fn some_leg()(to in 0.0..45.0_f64, lasts in 0.3..25.0_f64, oxygen in 0.3..3.5_f64) -> Leg {
        leg(to, lasts, oxygen)
    }
}

pub fn some_legs() -> impl Strategy<Value = Vec<Leg>> {
    prop::collection::vec(some_leg(), 1..6)
}

fn make_up() -> impl Strategy<Value = f64> {
    prop_oneof![Just(f64::INFINITY), Just(0.0), 0.5..8.0_f64]
}

prop_compose! {
    fn some_unit()(constant_lpm in 0.0..14.0_f64, controlled_lpm in prop_oneof![Just(0.0), 2.0..25.0_f64], make_up_lpm in make_up(), loop_l in 4.0..9.0_f64) -> SemiClosed {
        SemiClosed { loop_l, feed: Feed { constant_lpm, controlled_lpm }, make_up_lpm, ..SEMI_CLOSED }
    }
}

/// A dive on any apparatus, trimix among the supplies, with a small cylinder that may run empty.
pub fn some_dive() -> impl Strategy<Value = Profile> {
    let circuit = prop_oneof![
        some_unit().prop_map(Circuit::SemiClosed),
        (4.0..16.0_f64, any::<bool>(), any::<bool>()).prop_map(|(ratio, compensated, adds)| {
            Circuit::Passive(Passive { ratio, compensated, adds, ..PASSIVE })
        }),
        (0.0..8.0_f64, make_up())
            .prop_map(|(inject_lpm, make_up_lpm)| { Circuit::Closed(Closed { inject_lpm, make_up_lpm, ..CLOSED }) }),
    ];
    (circuit, 0.22..0.6_f64, 0.0..0.4_f64, 2.0..20.0_f64, some_legs()).prop_map(|(circuit, o2, he, size, legs)| {
        let (first, second, set_point) = match circuit {
            Circuit::Closed(_) => (Mix::OXYGEN, Mix { o2: 0.16, he }, 1.2),
            _ => (Mix { o2, he }, Mix::AIR, 0.27),
        };
        dive(circuit, vec![cylinder(size, first, 180.0), lasting(second)], Some(set_point), legs)
    })
}

fn begun(dive: &Profile) -> Track {
    run_from(dive, loop_at(dive, 0.0, 0.25))
}

proptest! {
    #![proptest_config(crate::seed::properties(150))]

    /// With no metabolism, no feed and constant depth the mix stays, exactly.
    #[test]
    fn nothing_happens_of_nothing(depth in 0.0..60.0_f64, o2 in 0.0..1.0_f64, lasts in 0.1..500.0_f64) {
        let unit = SemiClosed { feed: Feed::default(), ..SEMI_CLOSED };
        let dive = semi_closed(unit, 0.36, vec![leg(depth, lasts, 0.0)]);
        let track = run_from(&dive, loop_at(&dive, depth, o2));
        prop_assert_eq!(track.end.breathed.o2, o2);
        prop_assert!((track.end.litres[0] - dive.cylinders[0].full_l).abs() < 1e-9);
    }

    /// Gas is conserved to 1e-9 of what flows: what leaves the cylinders is in the account by purpose; of what comes into
    /// the loop, what is not taken by the body or kept is vented, never less than nothing, and at the loop's own mix.
    #[test]
    fn gas_is_conserved(dive in some_dive()) {
        let track = begun(&dive);
        for (cylinder, kit) in dive.cylinders.iter().enumerate() {
            let used: f64 = PURPOSES.iter().map(|purpose| track.used_l(cylinder, *purpose)).sum();
            prop_assert!((kit.full_l - track.end.litres[cylinder] - used).abs() <= 1e-9 * kit.full_l);
        }
        for segment in &track.segments {
            let Breath::Loop { balance, .. } = segment.regime.breath else { continue };
            let drawn = |mix_part: fn(&Mix) -> f64| -> f64 {
                segment.regime.draws.iter().map(|d| d.litres(segment.minutes) * mix_part(&dive.cylinders[d.cylinder].mix)).sum()
            };
            let (start, end) = (segment.start.breathed, segment.end().breathed);
            let started_l = balance.litres;
            // A loop without oxygen gives the body no more than comes in.
            let taken = if start.o2 > 0.0 { segment.metabolic_lpm * segment.minutes } else { segment.metabolic_lpm.min(drawn(|m| m.o2) / segment.minutes) * segment.minutes };
            let vented = drawn(|_| 1.0) - taken - (end.litres - started_l);
            let flown = drawn(|_| 1.0) + taken + started_l;
            prop_assert!(vented >= -1e-9 * flown, "vented {vented}");
            // Oxygen: the vent takes it at the loop's own fraction, summed here by Simpson's rule, to that rule's own error.
            let flows = (drawn(|_| 1.0) - taken) / segment.minutes;
            let carried_off = |steps: u32| -> f64 {
                let h = segment.minutes / f64::from(steps);
                let sum: f64 = (0..=steps).map(|i| {
                    let weight = if i == 0 || i == steps { 1.0 } else if i % 2 == 1 { 4.0 } else { 2.0 };
                    let at = h * f64::from(i);
                    let vent_lpm = flows - balance.gain_lpm - balance.gain_lpm_per_min * at;
                    weight * vent_lpm * segment.mix_at(at).o2
                }).sum();
                sum * h / 3.0
            };
            let steps = 2 * (segment.minutes * 100.0).ceil().max(60.0) as u32;
            let (coarse, oxygen_vented) = (carried_off(steps), carried_off(2 * steps));
            let oxygen = drawn(|m| m.o2) - taken - oxygen_vented - (end.litres * end.o2 - started_l * start.o2);
            prop_assert!(oxygen.abs() <= 1e-9 * flown.max(1.0) + (coarse - oxygen_vented).abs(), "oxygen off by {oxygen} of {flown} in {segment:?}");
        }
    }

    /// Splitting a leg changes nothing beyond 1e-9.
    #[test]
    fn splitting_a_leg_changes_nothing(dive in some_dive(), share in 0.05..0.95_f64) {
        let whole = begun(&dive);
        let mut legs = Vec::new();
        let mut at_m = 0.0;
        for leg in &dive.legs {
            legs.push(Leg { to_m: at_m + (leg.to_m - at_m) * share, lasts_min: leg.lasts_min * share, ..*leg });
            legs.push(Leg { lasts_min: leg.lasts_min * (1.0 - share), ..*leg });
            at_m = leg.to_m;
        }
        let split = begun(&Profile { legs, ..dive.clone() });
        let (a, b) = (&whole.end, &split.end);
        prop_assert!((a.breathed.o2 - b.breathed.o2).abs() < 1e-9, "{} {}", a.breathed.o2, b.breathed.o2);
        prop_assert!((a.breathed.he - b.breathed.he).abs() < 1e-9);
        for ((a, b), kit) in a.litres.iter().zip(&b.litres).zip(&*dive.cylinders) {
            prop_assert!((a - b).abs() < 1e-9 * kit.full_l, "{a} {b}");
        }
        prop_assert!((a.breathed.litres - b.breathed.litres).abs() < 1e-8, "{} {}", a.breathed.litres, b.breathed.litres);
    }

    /// A leaner supply never raises the loop's oxygen, at any moment, beyond 1e-9.
    #[test]
    fn leaner_supply_never_raises_oxygen(unit in some_unit(), rich in 0.25..0.8_f64, leaner in 0.5..1.0_f64, legs in some_legs()) {
        let unit = SemiClosed { make_up_lpm: f64::INFINITY, ..unit };
        let rich_track = begun(&semi_closed(unit, rich, legs.clone()));
        let lean_track = begun(&semi_closed(unit, rich * leaner, legs));
        let end = rich_track.end.t_min;
        for i in 0..=200 {
            let t = end * f64::from(i) / 200.0;
            let (rich, lean) = (rich_track.at(t).breathed.o2, lean_track.at(t).breathed.o2);
            prop_assert!(lean <= rich + 1e-9, "at {t}: {lean} {rich}");
        }
    }

    /// Harder work never lengthens gas, absorbent or the time to the floor, beyond 1e-9 minutes.
    #[test]
    fn harder_work_never_lengthens(unit in some_unit(), o2 in 0.25..0.6_f64, harder in 1.0..2.0_f64, legs in some_legs()) {
        let limits = Limits { floor_o2: 0.21, absorbent_min: 30.0, ..Limits::default() };
        let mut unit = SemiClosed { make_up_lpm: f64::INFINITY, ..unit };
        unit.scrubber.rated_co2 = Some(leadsman::physics::litres::Stpd(1.0));
        let first = |factor: f64| {
            let legs = legs.iter().map(|leg| Leg { work: times(leg.work, factor), ..*leg }).collect();
            let mut dive = dive(Circuit::SemiClosed(unit), vec![cylinder(3.0, Mix::nitrox(o2), 150.0)], Some(0.27), legs);
            dive.limits = limits;
            let track = begun(&dive);
            let when = move |kind| track.first(kind).map_or(f64::INFINITY, |event| event.t_min);
            [when(EventKind::CylinderReserve(0)), when(EventKind::AbsorbentSpent), when(EventKind::BelowFloor)]
        };
        for (easy, hard) in first(1.0).into_iter().zip(first(harder)) {
            prop_assert!(hard <= easy + 1e-9, "{hard} {easy}");
        }
    }

    /// Deeper never shortens endurance on a controlled feed without make-up and bail-out, beyond 1e-9 minutes: a loop at
    /// its set-point takes the same litres at any depth.
    #[test]
    fn deeper_never_shortens_endurance(oxygen in 0.6..3.0_f64, o2 in 0.30..0.6_f64, shallow in 0.0..20.0_f64, deeper in 0.0..40.0_f64, start in 0.27..0.30_f64) {
        let ends = |depth: f64| {
            let unit = SemiClosed { feed: Feed { constant_lpm: 0.0, controlled_lpm: 60.0 }, make_up_lpm: 0.0, ..SEMI_CLOSED };
            let dive = dive(Circuit::SemiClosed(unit), vec![cylinder(12.0, Mix::nitrox(o2), 200.0)], Some(0.27), vec![leg(depth, 2000.0, oxygen)]);
            let track = run_from(&dive, loop_at(&dive, depth, start));
            (track.first(EventKind::CylinderReserve(0)).unwrap().t_min, track.first(EventKind::CylinderEmpty(0)).unwrap().t_min)
        };
        let (a, b) = (ends(shallow), ends(shallow + deeper));
        prop_assert!(b.0 >= a.0 - 1e-9 && b.1 >= a.1 - 1e-9, "{a:?} {b:?}");
        if start == 0.27 {
            prop_assert!((b.0 - a.0).abs() < 1e-6);
        }
    }

    /// Fractions stay within 0 and 1, and their sum too; the loop never holds more than its volume.
    #[test]
    fn fractions_stay_fractions(dive in some_dive()) {
        let track = begun(&dive);
        let end = track.end.t_min;
        for i in 0..=300 {
            let state = track.at(end * f64::from(i) / 300.0);
            let gas = state.breathed;
            prop_assert!((0.0..=1.0).contains(&gas.o2) && (0.0..=1.0).contains(&gas.he));
            prop_assert!(gas.o2 + gas.he <= 1.0 + 1e-9, "{gas:?}");
            prop_assert!(gas.litres <= dive.circuit.loop_l() * state.bar * (1.0 + 1e-9), "{gas:?}");
        }
    }

    /// An instant of a track is where a shorter run would have ended, to 1e-9: nothing is sampled.
    #[test]
    fn an_instant_is_exact(dive in some_dive(), share in 0.0..1.0_f64) {
        let track = begun(&dive);
        let t = track.end.t_min * share;
        let state = track.at(t);
        // Going on from there ends where the whole ended.
        let mut left = Vec::new();
        let mut begins = 0.0;
        for leg in &dive.legs {
            let ends = begins + leg.lasts_min;
            if ends > t {
                left.push(Leg { lasts_min: ends - begins.max(t), ..*leg });
            }
            begins = ends;
        }
        let rest = run(state, &mut Planned::new(&left), &dive.sources(), &dive.limits);
        prop_assert!((rest.end.t_min - track.end.t_min).abs() < 1e-9);
        prop_assert!((rest.end.breathed.o2 - track.end.breathed.o2).abs() < 1e-9);
        let (a, b) = (rest.end.exposure, track.end.exposure);
        prop_assert!((a.clock - b.clock).abs() < 1e-7, "{} {}", a.clock, b.clock);
        prop_assert!((a.units - b.units).abs() < 1e-3, "{} {}", a.units, b.units);
    }
}

/// Numbers that nobody means.
const HOSTILE: [f64; 14] = [
    0.0,
    -0.0,
    -1.0,
    1e-300,
    1e-12,
    1.0,
    27.0,
    400.0,
    10_000.0,
    1e9,
    1e300,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::NAN,
];

fn hostile() -> impl Strategy<Value = f64> {
    prop_oneof![prop::sample::select(&HOSTILE[..]), 0.0..50.0_f64]
}

proptest! {
    #![proptest_config(crate::seed::properties(400))]

    /// Whatever the numbers, a run ends, in bounded pieces, without a panic, and what it says stays within bounds.
    #[test]
    fn hostile_numbers_are_bounded(
        unit in prop::array::uniform5(hostile()),
        legs in prop::collection::vec((prop::array::uniform4(hostile()), 0..5_usize, hostile()), 0..6),
        state in prop::array::uniform4(hostile()),
        kind in 0..4,
        carried in hostile(),
    ) {
        let [loop_l, constant_lpm, controlled_lpm, make_up_lpm, ratio] = unit;
        let circuit = match kind {
            0 => Circuit::SemiClosed(SemiClosed { loop_l, feed: Feed { constant_lpm, controlled_lpm }, make_up_lpm, ..SEMI_CLOSED }),
            1 => Circuit::Passive(Passive { loop_l, ratio, compensated: ratio > 5.0, ..PASSIVE }),
            2 => Circuit::Closed(Closed { loop_l, inject_lpm: controlled_lpm, make_up_lpm, ..CLOSED }),
            _ => Circuit::Open(leadsman::run::Open { cylinder: 7 }),
        };
        let legs = legs.into_iter().map(|([to_m, lasts_min, oxygen_lpm, gas_lpm], act, value)| Leg {
            act: [Act::None, Act::SetPoint(set_point_of(&circuit, value)), Act::Flush(value), Act::Breathe(2), Act::Breathe(99)][act],
            work: leadsman::run::Work { oxygen_lpm, gas_lpm },
            ..leg(to_m, lasts_min, 1.0)
        }).collect();
        let mut dive = dive(circuit, vec![cylinder(12.0, Mix::nitrox(0.36), 200.0), cylinder(3.0, Mix::AIR, 200.0)], Some(state[0]), legs);
        dive.pre_breathe_min = state[1];
        dive.inflates = Some(1);
        dive.carried.clock = carried;
        let track = dive.run();
        prop_assert!(track.segments.len() <= dive.limits.segments);
        for segment in &track.segments {
            for state in [&segment.start, &segment.end()] {
                prop_assert!((0.0..=1.0).contains(&state.breathed.o2), "{:?}", segment);
                prop_assert!(state.bar > 0.0 && state.t_min.is_finite());
            }
        }
        let _ = track.extremes(0.0, &dive.limits);
        let _ = (track.at(f64::NAN), track.at(f64::INFINITY), track.at(-1e9));
        // From a state that can't be.
        let mut from = dive.start();
        (from.bar, from.breathed.o2, from.breathed.litres) = (state[1], state[2], state[3]);
        let track = run_from(&dive, from);
        prop_assert!(track.segments.len() <= dive.limits.segments);
    }
}

/// Ten thousand minutes, 400 m.
#[test]
fn a_stay_of_a_week() {
    let dive =
        semi_closed(SEMI_CLOSED, 0.36, vec![leg(400.0, 20.0, 1.0), leg(400.0, 10_000.0, 1.0), leg(0.0, 40.0, 1.0)]);
    let track = begun(&dive);
    assert!(track.segments.len() < 20);
    assert!((track.minutes() - 10_060.0).abs() < 1e-6);
    assert!(track.first(EventKind::CylinderEmpty(0)).is_none());
}
