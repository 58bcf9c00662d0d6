//! Loops of all kinds against SciPy's integration of the gas balance itself: `tests/reference/loop_transients.csv`, made
//! by the script in `tests/reference/scripts/`.

use csv::StringRecord;
use leadsman::physics::loop_balance::Feed;
use leadsman::physics::{Mix, SetPoint};
use leadsman::run::{Circuit, Closed, Event, EventKind, Passive, Profile, SemiClosed, Track};

use super::dives::{CLOSED, PASSIVE, SEMI_CLOSED, dive, lasting, leg, loop_at, run_from};
use super::{number, table};

/// So closely it agrees; and where a fed loop is held at a pressure, by a flow that is constant for a second or so at a time
/// while the depth changes.
type Within = [f64; 2];
const FRACTION: Within = [1e-6, 5e-6];
const LITRES: Within = [1e-5, 2e-3];
const MINUTES: Within = [1e-6, 1e-4];
/// Shares of the oxygen clock.
const CLOCK: Within = [1e-7, 1e-6];
/// Pulmonary units.
const UNITS: Within = [1e-3, 1e-3];

/// Whether a case's fed loop is held at a pressure.
fn in_bar(case: &str) -> bool {
    case.starts_with("in bar")
}

fn dive_of(row: &StringRecord) -> (Profile, Track) {
    let value = |column: usize| number(row, column);
    let mix = |text: &str| {
        let (o2, he) = text.split_once('/').unwrap();
        Mix { o2: o2.parse().unwrap(), he: he.parse().unwrap() }
    };
    let legs = row[14]
        .split(' ')
        .map(|text| {
            let mut parts = text.split('/').map(|part| part.parse::<f64>().unwrap());
            leg(parts.next().unwrap(), parts.next().unwrap(), parts.next().unwrap())
        })
        .collect();
    let (loop_l, make_up_lpm, set_point) = (value(3), value(6), value(7));
    let feed = Feed { constant_lpm: value(4), controlled_lpm: value(5) };
    let circuit = match &row[2] {
        "semi-closed" => Circuit::SemiClosed(SemiClosed { loop_l, feed, make_up_lpm, ..SEMI_CLOSED }),
        "passive" => Circuit::Passive(Passive {
            loop_l,
            ratio: value(8),
            compensated: value(9) == 1.0,
            adds: make_up_lpm > 0.0,
            ..PASSIVE
        }),
        "closed" => Circuit::Closed(Closed { loop_l, inject_lpm: feed.controlled_lpm, make_up_lpm, ..CLOSED }),
        other => panic!("{other}"),
    };
    let cylinders = vec![lasting(mix(&row[12])), lasting(mix(&row[13]))];
    let mut dive = dive(circuit, cylinders, (set_point > 0.0).then_some(set_point), legs);
    if in_bar(&row[1]) {
        dive.set_point = Some(SetPoint::Bar(set_point));
    }
    let track = run_from(&dive, loop_at(&dive, value(10), value(11)));
    (dive, track)
}

fn kind(name: &str) -> EventKind {
    match name {
        "below-floor" => EventKind::BelowFloor,
        "oxygen-low" => EventKind::OxygenLow,
        "faint" => EventKind::Faint,
        "oxygen-high" => EventKind::OxygenHigh,
        "oxygen-gone" => EventKind::OxygenGone,
        "loop-short" => EventKind::LoopShort,
        "set-point-reached" => EventKind::SetPointReached,
        other => panic!("{other}"),
    }
}

#[test]
fn loops_go_as_the_balance_says() {
    let rows = table("loop_transients.csv");
    let (mut cases, mut instants, mut events) = (0, 0, 0);
    let mut misses = Vec::new();
    let mut current: Option<(Profile, Track)> = None;
    for row in &rows {
        let name = &row[1];
        if &row[0] == "case" {
            current = Some(dive_of(row));
            cases += 1;
            continue;
        }
        let (dive, track) = current.as_ref().unwrap();
        if &row[0] == "event" {
            let (kind, t) = (kind(&row[2]), number(row, 3));
            let found =
                |event: &Event| event.kind == kind && (event.t_min - t).abs() <= MINUTES[usize::from(in_bar(name))];
            if !track.events.iter().any(found) {
                misses.push(format!("{name}: no {} at {t}; {:?}", &row[2], track.events));
            }
            events += 1;
            continue;
        }
        let t = number(row, 2);
        let state = track.at(t);
        let mut look = |what: &str, found: f64, expected: f64, within: Within| {
            let tolerance = within[usize::from(in_bar(name))];
            if (found - expected).abs() > tolerance || found.is_nan() {
                misses.push(format!("{name} at {t}: {what} {found} for {expected}, off by {:e}", found - expected));
            }
        };
        look("oxygen", state.breathed.o2, number(row, 3), FRACTION);
        look("helium", state.breathed.he, number(row, 4), FRACTION);
        look("litres", state.breathed.litres, number(row, 5), LITRES);
        look("drawn 0", dive.cylinders[0].full_l - state.litres[0], number(row, 6), LITRES);
        look("drawn 1", dive.cylinders[1].full_l - state.litres[1], number(row, 7), LITRES);
        look("clock", state.exposure.clock, number(row, 8), CLOCK);
        look("units", state.exposure.units, number(row, 9), UNITS);
        instants += 1;
    }
    assert!(misses.is_empty(), "{} misses:\n{}", misses.len(), misses.join("\n"));
    assert!(cases >= 31 && instants >= 450 && events >= 35, "{cases} cases, {instants} instants, {events} events");
}
