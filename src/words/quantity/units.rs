//! The units that a type annotation may say, and what one of each is inside.
//!
//! Conversion factors that are exact by definition are marked so; they follow NIST Special Publication 811 (2008),
//! appendix B (from memory): 1 ft = 0.3048 m, 1 lb = 0.453 592 37 kg, 1 atm = 101 325 Pa, standard gravity
//! 9.806 65 m/s², and what follows from these by arithmetic.

use super::Quantity;
use crate::physics::litres::FREE_PER_STPD;
use crate::physics::pressure::{ATMOSPHERE_BAR, FSW_BAR, MSW_BAR};

/// A unit of one quantity: inside = (written − `zero`) × `factor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The annotation as a plan writes it.
    pub name: &'static str,
    /// What one of it is in the inside unit.
    pub factor: f64,
    /// How much of it stands for zero of the inside unit.
    pub zero: f64,
    /// Other ways to write it that people use; a finding with a safe fix.
    pub also: &'static [&'static str],
}

const fn unit(name: &'static str, factor: f64, also: &'static [&'static str]) -> Unit {
    Unit { name, factor, zero: 0.0, also }
}

/// The international foot in metres, exact.
pub(crate) const FOOT_M: f64 = 0.3048;
/// The avoirdupois pound in kilograms, exact.
pub(super) const POUND_KG: f64 = 0.453_592_37;
/// A pound-force on a square inch in bar: 0.453 592 37 kg × 9.806 65 m/s² / (0.0254 m)² = 6 894.757 293 168 36 Pa, exact
/// up to rounding.
pub(crate) const PSI_BAR: f64 = 0.068_947_572_931_683_6;
/// A cubic foot in litres: (0.3048 m)³, exact.
pub(crate) const CUBIC_FOOT_L: f64 = 28.316_846_592;
/// A conventional millimetre of mercury in bar: 13 595.1 kg/m³ × 9.806 65 m/s² × 1 mm, exact.
pub(super) const MMHG_BAR: f64 = 0.001_333_223_874_15;
/// A conventional inch of mercury in bar: 25.4 mm of it, exact.
pub(super) const INHG_BAR: f64 = 0.033_863_886_403_41;
/// A foot of sea water in metres on an instrument, each of which is a metre of sea water.
pub(super) const FSW_M: f64 = FSW_BAR / MSW_BAR;

const DEPTHS: &[Unit] = &[
    unit("m", 1.0, &["metre", "metres", "meter", "meters", "M"]),
    unit("ft", FOOT_M, &["foot", "feet", "Ft", "FT"]),
    unit("msw", 1.0, &["MSW"]),
    unit("fsw", FSW_M, &["FSW"]),
];
const LENGTHS: &[Unit] = &[
    unit("m", 1.0, &["metre", "metres", "meter", "meters", "M"]),
    unit("ft", FOOT_M, &["foot", "feet", "Ft", "FT"]),
    unit("km", 1000.0, &["KM"]),
];
const GAUGES: &[Unit] = &[
    unit("bar", 1.0, &["Bar", "BAR", "bars"]),
    unit("psi", PSI_BAR, &["PSI", "Psi", "psig"]),
    unit("kPa", 0.01, &["kpa", "KPa", "KPA"]),
    unit("MPa", 10.0, &["Mpa", "MPA", "mpa"]),
    unit("atm", ATMOSPHERE_BAR, &["ATM"]),
];
const PARTIALS: &[Unit] = &[
    unit("bar", 1.0, &["Bar", "BAR", "bars"]),
    unit("mbar", 0.001, &["millibar", "mBar"]),
    unit("kPa", 0.01, &["kpa", "KPa", "KPA"]),
    unit("atm", ATMOSPHERE_BAR, &["ATM"]),
    unit("ata", ATMOSPHERE_BAR, &["ATA"]),
];
const ABSOLUTES: &[Unit] = &[
    unit("bar", 1.0, &["Bar", "BAR", "bars"]),
    unit("mbar", 0.001, &["millibar", "mBar"]),
    unit("hPa", 0.001, &["hpa"]),
    unit("kPa", 0.01, &["kpa", "KPa", "KPA"]),
    unit("atm", ATMOSPHERE_BAR, &["ATM"]),
    unit("psi", PSI_BAR, &["PSI", "psia"]),
    unit("mmHg", MMHG_BAR, &["mmhg", "torr", "Torr"]),
    unit("inHg", INHG_BAR, &["inhg"]),
];
const VOLUMES: &[Unit] = &[
    unit("l", 1.0, &["L", "litre", "litres", "liter", "liters"]),
    unit("ml", 0.001, &["mL"]),
    unit("cuft", CUBIC_FOOT_L, &["cf", "cu-ft", "ft3", "CUFT"]),
];
const FLOWS: &[Unit] = &[
    unit("l", 1.0, &["L", "l/min", "L/min", "lpm", "litres"]),
    unit("ml", 0.001, &["mL", "ml/min", "mL/min"]),
    unit("free", 1.0, &["Free"]),
    unit("stpd", FREE_PER_STPD, &["STPD", "Stpd"]),
    unit("cuft", CUBIC_FOOT_L, &["cf", "ft3", "cuft/min", "CUFT"]),
];
// No custom has cubic feet of what a body takes up.
const UPTAKES: &[Unit] = &[
    unit("l", 1.0, &["L", "l/min", "L/min", "lpm", "litres"]),
    unit("ml", 0.001, &["mL", "ml/min", "mL/min"]),
    unit("stpd", 1.0, &["STPD", "Stpd"]),
    unit("free", 1.0 / FREE_PER_STPD, &["Free"]),
];
const RATES: &[Unit] = &[
    unit("m", 1.0, &["m/min", "metres", "meters", "mpm"]),
    unit("ft", FOOT_M, &["ft/min", "feet", "fpm"]),
    unit("msw", 1.0, &["MSW", "msw/min"]),
    unit("fsw", FSW_M, &["FSW", "fsw/min"]),
];
const DURATIONS: &[Unit] = &[
    unit("min", 1.0, &["m", "mins", "minute", "minutes", "Min"]),
    unit("s", 1.0 / 60.0, &["sec", "secs", "second", "seconds"]),
    unit("h", 60.0, &["hr", "hrs", "hour", "hours", "H"]),
    unit("days", 1440.0, &["d", "day"]),
];
const TEMPERATURES: &[Unit] = &[
    unit("C", 1.0, &["c", "°C", "celsius", "Celsius", "degC"]),
    Unit { name: "F", factor: 5.0 / 9.0, zero: 32.0, also: &["f", "°F", "fahrenheit", "Fahrenheit", "degF"] },
    Unit { name: "K", factor: 1.0, zero: 273.15, also: &["kelvin", "Kelvin"] },
];
const VOLTAGES: &[Unit] =
    &[unit("mV", 1.0, &["mv", "MV", "millivolt", "millivolts"]), unit("V", 1000.0, &["v", "volt", "volts"])];
const MASSES: &[Unit] = &[
    unit("kg", 1.0, &["Kg", "KG", "kilo", "kilos", "kilogram", "kilograms"]),
    unit("g", 0.001, &["gram", "grams"]),
    unit("lb", POUND_KG, &["lbs", "pound", "pounds"]),
];
const PERCENTS: &[Unit] = &[unit("percent", 1.0, &["%", "pct"])];
const DENSITIES: &[Unit] = &[unit("kg/m3", 1.0, &["kg/m³", "kgm3", "g/l"])];
const SET_POINTS: &[Unit] = &[
    unit("percent", 1.0, &["%", "pct"]),
    unit("bar", 1.0, &["Bar", "BAR"]),
    unit("kPa", 0.01, &["kpa", "KPa", "KPA"]),
    unit("atm", ATMOSPHERE_BAR, &["ATM"]),
    unit("ata", ATMOSPHERE_BAR, &["ATA"]),
];
// What a life's units count: calendar months where the name says months or years, days otherwise.
const LIVES: &[Unit] = &[
    unit("months", 1.0, &["month", "mo", "Months"]),
    unit("days", 1.0, &["day", "d", "Days"]),
    unit("weeks", 7.0, &["week", "w", "Weeks"]),
    unit("years", 12.0, &["year", "y", "yr", "yrs", "Years"]),
];
const DATES: &[Unit] = &[unit("date", 1.0, &[])];
const TIMES: &[Unit] = &[unit("time", 1.0, &[])];

impl Quantity {
    /// The units that an annotation on it may say, the metric one first; empty where it takes none.
    pub const fn units(self) -> &'static [Unit] {
        match self {
            Quantity::Depth => DEPTHS,
            Quantity::Altitude => LENGTHS,
            Quantity::Gauge => GAUGES,
            Quantity::Partial => PARTIALS,
            Quantity::Absolute => ABSOLUTES,
            Quantity::Volume | Quantity::Size => VOLUMES,
            Quantity::Flow => FLOWS,
            Quantity::Uptake => UPTAKES,
            Quantity::Rate => RATES,
            Quantity::Duration => DURATIONS,
            Quantity::Life => LIVES,
            Quantity::Temperature => TEMPERATURES,
            Quantity::Voltage => VOLTAGES,
            Quantity::Mass => MASSES,
            Quantity::Density => DENSITIES,
            Quantity::Percent => PERCENTS,
            Quantity::SetPoint => SET_POINTS,
            Quantity::Date => DATES,
            Quantity::Time => TIMES,
            Quantity::Number
            | Quantity::Count
            | Quantity::Text
            | Quantity::Name
            | Quantity::Path
            | Quantity::OneOf(_)
            | Quantity::YesNo => &[],
        }
    }

    /// The unit of a name as a plan writes it.
    pub fn unit(self, name: &str) -> Option<&'static Unit> {
        self.units().iter().find(|unit| unit.name == name)
    }

    /// The unit of a name that people write for it but the language doesn't: `feet` for `ft`.
    pub fn unit_meant(self, name: &str) -> Option<&'static Unit> {
        self.units().iter().find(|unit| unit.also.contains(&name))
    }

    /// The unit of a bare number in a file of these measures; `None` where a bare number has no unit, or where
    /// none can be assumed.
    pub fn bare_unit(self, measures: super::Measures) -> Option<&'static Unit> {
        let name = match (self, measures) {
            (Quantity::Life | Quantity::SetPoint | Quantity::Date | Quantity::Time, _) => return None,
            (Quantity::Depth | Quantity::Altitude | Quantity::Rate, super::Measures::Imperial) => "ft",
            (Quantity::Gauge | Quantity::Absolute, super::Measures::Imperial) => "psi",
            (Quantity::Volume | Quantity::Size | Quantity::Flow, super::Measures::Imperial) => "cuft",
            (Quantity::Temperature, super::Measures::Imperial) => "F",
            (Quantity::Mass, super::Measures::Imperial) => "lb",
            _ => return self.units().first(),
        };
        self.unit(name)
    }
}
