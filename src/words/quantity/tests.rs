//! Conversions against published factors, and readings of every kind.
//!
//! Factors: NIST Special Publication 811 (2008), appendix B.8 (from memory), to the digits printed there. Sea water as
//! a pressure: U.S. Navy Diving Manual, 1 fsw = 3.0643 kPa, 1 msw = 10 kPa.

#![allow(clippy::unwrap_used)]

use proptest::prelude::*;

use super::units::{CUBIC_FOOT_L, FOOT_M, INHG_BAR, MMHG_BAR, POUND_KG, PSI_BAR};
use super::*;

fn read(quantity: Quantity, number: f64, annotation: Option<&str>) -> f64 {
    let amount = quantity.read(&Value::Float(number), annotation, Measures::Metric).unwrap();
    amount.number().unwrap()
}

/// Asserts a conversion to the digits that are published: half a unit of the last one.
fn published(quantity: Quantity, annotation: &str, inside: f64, last_digit: f64) {
    let one = read(quantity, 1.0, Some(annotation));
    assert!((one - inside).abs() <= last_digit / 2.0, "({annotation})1 is {one}, published {inside}");
}

#[test]
fn factors_are_as_published() {
    published(Quantity::Depth, "ft", 3.048e-1, 0.0);
    published(Quantity::Altitude, "km", 1000.0, 0.0);
    published(Quantity::Gauge, "psi", 6.894_757e-2, 1e-8);
    published(Quantity::Gauge, "kPa", 1e-2, 0.0);
    published(Quantity::Gauge, "MPa", 10.0, 0.0);
    published(Quantity::Partial, "atm", 1.013_25, 0.0);
    published(Quantity::Partial, "ata", 1.013_25, 0.0);
    published(Quantity::Absolute, "hPa", 1e-3, 0.0);
    published(Quantity::Absolute, "mmHg", 1.333_224e-3, 1e-9);
    published(Quantity::Absolute, "inHg", 3.386_389e-2, 1e-8);
    published(Quantity::Volume, "cuft", 28.316_85, 1e-5);
    published(Quantity::Mass, "lb", 4.535_924e-1, 1e-7);
    published(Quantity::Mass, "g", 1e-3, 0.0);
    published(Quantity::Duration, "h", 60.0, 0.0);
    published(Quantity::Voltage, "V", 1000.0, 0.0);
}

#[test]
fn factors_that_follow_from_exact_ones_follow() {
    // lbf/in² from the pound, standard gravity and the inch; the inch of mercury from the millimetre.
    assert!((PSI_BAR - POUND_KG * 9.806_65 / (0.0254 * 0.0254) / 1e5).abs() < 1e-16);
    assert!((CUBIC_FOOT_L - FOOT_M * FOOT_M * FOOT_M * 1000.0).abs() < 1e-12);
    assert!((MMHG_BAR - 13_595.1 * 9.806_65 * 1e-3 / 1e5).abs() < 1e-16);
    assert!((INHG_BAR - MMHG_BAR * 25.4).abs() < 1e-15);
}

#[test]
fn sea_water_stands_for_a_depth_on_an_instrument() {
    // An instrument shows a metre for each 10 kPa.
    assert!((read(Quantity::Depth, 60.0, Some("fsw")) - 60.0 * 3.0643 / 10.0).abs() < 1e-12);
    assert!((read(Quantity::Depth, 18.0, Some("msw")) - 18.0).abs() < 1e-12);
    // U.S. Navy Diving Manual (from memory): 33.066 fsw, or 10.13 msw, are an atmosphere.
    assert!((read(Quantity::Depth, 33.066, Some("fsw")) / 10.0 - ATMOSPHERE_BAR).abs() < 2e-5);
}

#[test]
fn temperatures_have_their_noughts() {
    // Fixed points: ice 32 °F, 273.15 K; the two scales of degrees meet at −40.
    let same = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    same(read(Quantity::Temperature, 32.0, Some("F")), 0.0);
    same(read(Quantity::Temperature, 68.0, Some("F")), 20.0);
    same(read(Quantity::Temperature, -40.0, Some("F")), -40.0);
    same(read(Quantity::Temperature, 273.15, Some("K")), 0.0);
    same(read(Quantity::Temperature, 9.0, None), 9.0);
}

#[test]
fn a_cylinder_named_by_its_free_gas_has_a_water_volume() {
    let amount = Quantity::Size.read(&Value::Integer(80), Some("cuft"), Measures::Metric).unwrap();
    let Amount::FreeGas(free) = amount else { unreachable!("a size in cubic feet is free gas") };
    let water = water_litres(free, 3000.0 * PSI_BAR);
    // Common practice, no source: a cylinder of that name is 11.1 l.
    assert!((water - 11.1).abs() < 0.05, "{water}");
    assert!((water - 80.0 * CUBIC_FOOT_L * ATMOSPHERE_BAR / (3000.0 * PSI_BAR)).abs() < 1e-9);
}

#[test]
fn flows_keep_which_litres_were_said() {
    let flow = |annotation| Quantity::Flow.read(&Value::Float(1.5), annotation, Measures::Metric);
    assert_eq!(flow(None), Ok(Amount::Flow(1.5, Litres::Unsaid)));
    assert_eq!(flow(Some("l")), Ok(Amount::Flow(1.5, Litres::Unsaid)));
    assert_eq!(flow(Some("free")), Ok(Amount::Flow(1.5, Litres::Free)));
    assert_eq!(flow(Some("ft")), Err(UnitError::Unit));
    // 1.5 l at 0 °C and 1 atm fill more at 20 °C and 1 bar, by Gay-Lussac's and Boyle's laws.
    let Ok(Amount::Flow(free, Litres::Stpd)) = flow(Some("stpd")) else { unreachable!("a flow said in STPD") };
    assert!((free - 1.5 * (293.15 / 273.15) * (101_325.0 / 100_000.0)).abs() < 1e-12);
    // What a body takes up is STPD inside, whichever litres are said.
    let uptake = |annotation| Quantity::Uptake.read(&Value::Float(free), annotation, Measures::Imperial);
    assert_eq!(uptake(None), Ok(Amount::Flow(free, Litres::Unsaid)));
    assert_eq!(uptake(Some("stpd")), Ok(Amount::Flow(free, Litres::Stpd)));
    let Ok(Amount::Flow(stpd, Litres::Free)) = uptake(Some("free")) else { unreachable!("an uptake said as free") };
    assert!((stpd - 1.5).abs() < 1e-12);
}

#[test]
fn lives_keep_calendar_months() {
    let life = |number, annotation| Quantity::Life.read(&Value::Integer(number), annotation, Measures::Metric);
    assert_eq!(life(12, Some("months")), Ok(Amount::Months(12)));
    assert_eq!(life(2, Some("years")), Ok(Amount::Months(24)));
    assert_eq!(life(3, Some("weeks")), Ok(Amount::Days(21)));
    assert_eq!(life(90, Some("days")), Ok(Amount::Days(90)));
    assert_eq!(life(12, None), Err(UnitError::Bare));
    assert_eq!(life(12, Some("min")), Err(UnitError::Unit));
    assert_eq!(life(i128::MAX, Some("years")), Err(UnitError::Type));
    // A year and a half has whole months; a month and a third has none.
    let part = |number, unit| Quantity::Life.read(&Value::Float(number), Some(unit), Measures::Metric);
    assert_eq!(part(1.5, "years"), Ok(Amount::Months(18)));
    assert_eq!(part(1.3, "months"), Err(UnitError::Type));
}

#[test]
fn imperial_files_have_imperial_bare_numbers() {
    let bare = |quantity: Quantity| quantity.read(&Value::Integer(1), None, Measures::Imperial).unwrap();
    assert_eq!(bare(Quantity::Depth), Amount::Number(FOOT_M));
    assert_eq!(bare(Quantity::Rate), Amount::Number(FOOT_M));
    assert_eq!(bare(Quantity::Gauge), Amount::Number(PSI_BAR));
    assert_eq!(bare(Quantity::Mass), Amount::Number(POUND_KG));
    assert_eq!(bare(Quantity::Size), Amount::FreeGas(CUBIC_FOOT_L));
    assert_eq!(bare(Quantity::Temperature), Amount::Number(-31.0 * 5.0 / 9.0));
    // Partial pressures are bar, and percent, minutes and millivolts are the same everywhere.
    for same in [Quantity::Partial, Quantity::Percent, Quantity::Duration, Quantity::Voltage, Quantity::SetPoint] {
        assert_eq!(bare(same), Amount::Number(1.0), "{same:?}");
    }
}

#[test]
fn values_of_other_types_are_none() {
    let metric = |quantity: Quantity, value: Value<'_>| quantity.read(&value, None, Measures::Metric);
    for value in
        [Value::Text("12".into()), Value::Bool(true), Value::Null, Value::Float(f64::NAN), Value::Float(f64::INFINITY)]
    {
        assert_eq!(metric(Quantity::Depth, value), Err(UnitError::Type));
    }
    assert_eq!(metric(Quantity::Name, Value::Integer(12)), Err(UnitError::Type));
    assert_eq!(metric(Quantity::Count, Value::Float(1.5)), Err(UnitError::Type));
    assert_eq!(metric(Quantity::OneOf(&["a", "b"]), Value::Text("c".into())), Err(UnitError::Type));
    assert_eq!(metric(Quantity::YesNo, Value::Text("maybe".into())), Err(UnitError::Type));
    assert_eq!(metric(Quantity::YesNo, Value::Text("no".into())), Ok(Amount::YesNo(false)));
    assert_eq!(metric(Quantity::YesNo, Value::Bool(true)), Ok(Amount::YesNo(true)));
    assert_eq!(metric(Quantity::Depth, Value::Bad("35,8")), Err(UnitError::Unreadable));
    // The wrong type is the greater defect: a text with a unit that doesn't fit is a text.
    let both = Quantity::Depth.read(&Value::Text("x".into()), Some("psi"), Measures::Metric);
    assert_eq!(both, Err(UnitError::Type));
}

#[test]
fn dates_and_times_are_iso_8601_in_one_form() {
    let date = |text: &'static str| Quantity::Date.read(&Value::Text(text.into()), None, Measures::Metric);
    assert_eq!(date("2027-05-15"), Ok(Amount::Date(jiff::civil::date(2027, 5, 15))));
    for text in ["2027-02-29", "20270515", "2027-5-15", "2027-05-15T09:40", "15.05.2027", ""] {
        assert_eq!(date(text), Err(UnitError::Date), "{text}");
    }
    let time = |text: &'static str| Quantity::Time.read(&Value::Text(text.into()), None, Measures::Metric);
    assert_eq!(time("09:40"), Ok(Amount::Time(jiff::civil::time(9, 40, 0, 0))));
    assert_eq!(time("09:40:30"), Ok(Amount::Time(jiff::civil::time(9, 40, 30, 0))));
    for text in ["9:40", "0940", "24:00", "09:60", "09", "09:40Z", ""] {
        assert_eq!(time(text), Err(UnitError::Date), "{text}");
    }
}

/// All quantities that take numbers with units.
const MEASURED: [Quantity; 16] = [
    Quantity::Depth,
    Quantity::Altitude,
    Quantity::Gauge,
    Quantity::Partial,
    Quantity::Absolute,
    Quantity::Volume,
    Quantity::Size,
    Quantity::Flow,
    Quantity::Uptake,
    Quantity::Rate,
    Quantity::Duration,
    Quantity::Temperature,
    Quantity::Voltage,
    Quantity::Mass,
    Quantity::Density,
    Quantity::Percent,
];

proptest! {
    #![proptest_config(crate::seed::properties(256))]

    #[test]
    fn what_is_converted_converts_back(which in 0..MEASURED.len(), number in -1e6..1e6f64) {
        for unit in MEASURED[which].units() {
            let inside = read(MEASURED[which], number, Some(unit.name));
            let back = inside / unit.factor + unit.zero;
            prop_assert!((back - number).abs() <= 1e-9 * number.abs().max(1.0), "{} {number} {back}", unit.name);
        }
    }

    #[test]
    fn a_bare_number_is_its_unit_said(which in 0..MEASURED.len(), number in -1e6..1e6f64, imperial: bool) {
        let (quantity, measures) = (MEASURED[which], if imperial { Measures::Imperial } else { Measures::Metric });
        let unit = quantity.bare_unit(measures).unwrap();
        let said = quantity.read(&Value::Float(number), Some(unit.name), measures);
        prop_assert_eq!(quantity.read(&Value::Float(number), None, measures), said);
    }

    #[test]
    fn more_written_is_more_inside(which in 0..MEASURED.len(), a in -1e6..1e6f64, b in -1e6..1e6f64) {
        prop_assume!(a < b);
        for unit in MEASURED[which].units() {
            prop_assert!(read(MEASURED[which], a, Some(unit.name)) <= read(MEASURED[which], b, Some(unit.name)));
        }
    }
}
