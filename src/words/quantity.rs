//! Quantities and their units: what a number in a plan means.

use jiff::civil::{Date, Time};

/// What a value of the vocabulary is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// A depth, metres inside.
    Depth,
    /// An altitude, metres inside.
    Altitude,
    /// A cylinder's gauge pressure, bar inside.
    Gauge,
    /// A partial pressure, bar inside.
    Partial,
    /// A volume, litres inside (free litres where gas is meant).
    Volume,
    /// A cylinder's size: water volume in litres inside, or `(cuft)` of free gas at its working pressure.
    Size,
    /// A gas flow, litres a minute inside; `(stpd)` and `(free)` say which litres.
    Flow,
    /// A rate of ascent or descent, metres a minute inside.
    Rate,
    /// A duration, minutes inside.
    Duration,
    /// A temperature, °C inside.
    Temperature,
    /// A cell's output, millivolts inside.
    Voltage,
    /// A weight, kilograms inside.
    Mass,
    /// Percent of oxygen, helium or carbon dioxide.
    Percent,
    /// A plain number.
    Number,
    /// A whole number.
    Count,
    /// A date, ISO 8601.
    Date,
    /// A time of day.
    Time,
    /// Free text.
    Text,
    /// The name of a thing.
    Name,
    /// A path to a file.
    Path,
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// `yes` or `no` (also `#true`, `#false`).
    YesNo,
    /// A loop's set-point: percent of oxygen from 21 up, bar from 1.6 down.
    SetPoint,
}

/// What bare depths, pressures, temperatures, volumes and weights of a file mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Measures {
    /// Metres, bar, °C, litres, kilograms.
    #[default]
    Metric,
    /// Feet, psi, °F, cubic feet, pounds.
    Imperial,
}

/// Why a value can't be read as its quantity.
#[derive(Debug, Clone, PartialEq)]
pub enum UnitFault {
    /// The annotation is no unit, or a unit of something else.
    Unit,
    /// The value is of another type.
    Type,
    /// A date or time that doesn't exist.
    Date,
}

/// A value read as its quantity.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// A number in the inside unit of the quantity.
    Number(f64),
    /// A date.
    Date(Date),
    /// A time of day.
    Time(Time),
    /// A text, name, path or word.
    Text(String),
    /// Yes or no.
    YesNo(bool),
}
