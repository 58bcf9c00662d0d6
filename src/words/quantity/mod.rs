//! Quantities and their units: what a number in a plan means.

mod units;

pub(crate) use units::{CUBIC_FOOT_L, FOOT_M, PSI_BAR};

pub use units::Unit;

use jiff::civil::{Date, Time};

use crate::physics::pressure::ATMOSPHERE_BAR;
use crate::syntax::{Entry, Value};

/// What a value of the vocabulary is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// A depth, metres inside.
    Depth,
    /// An altitude, metres inside.
    Altitude,
    /// A cylinder's gauge pressure, bar inside.
    Gauge,
    /// A partial pressure, bar inside, whatever the file's measures.
    Partial,
    /// An absolute pressure of the air, bar inside.
    Absolute,
    /// A volume, litres inside (free litres where gas is meant).
    Volume,
    /// A cylinder's size: water volume in litres inside, or `(cuft)` of free gas at its working pressure.
    Size,
    /// A gas flow, free litres a minute inside.
    Flow,
    /// What a body takes up or absorbent binds: litres a minute at standard temperature and pressure, dry, inside.
    Uptake,
    /// A rate of ascent or descent, metres a minute inside.
    Rate,
    /// A duration, minutes inside.
    Duration,
    /// A span of calendar time, always with its unit: `(months)12`.
    Life,
    /// A temperature, °C inside.
    Temperature,
    /// A cell's output, millivolts inside.
    Voltage,
    /// A weight, kilograms inside.
    Mass,
    /// A density of water, kilograms a cubic metre inside.
    Density,
    /// Percent: of oxygen, helium or carbon dioxide in a mix, of charge, of a gradient.
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

/// What bare depths, pressures, temperatures, volumes and weights of a file mean. Rates of ascent go with depths
/// and flows with volumes; partial pressures are bar in any file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Measures {
    /// Metres, bar, °C, litres, kilograms.
    #[default]
    Metric,
    /// Feet, psi, °F, cubic feet, pounds.
    Imperial,
}

/// Why a value can't be read as its quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitError {
    /// The annotation is no unit, or a unit of something else.
    Unit,
    /// A bare number where only a unit gives it a meaning: a life.
    Bare,
    /// The value is of another type.
    Type,
    /// A date or time that doesn't exist.
    Date,
    /// The value is no KDL value at all; the syntax's own error says why.
    Unreadable,
    /// It is still to be answered: `?`.
    Open,
}

/// Which litres of gas a flow was written in; inside it is in its quantity's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Litres {
    /// Not said: the quantity's own.
    #[default]
    Unsaid,
    /// Free litres, `(free)`.
    Free,
    /// Litres at standard temperature and pressure, dry: `(stpd)`.
    Stpd,
}

/// A value read as its quantity.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// A number in the inside unit of the quantity.
    Number(f64),
    /// A flow or an uptake in its quantity's own litres a minute, and which litres it was written in.
    Flow(f64, Litres),
    /// A cylinder's size given as the free gas it holds at its working pressure, litres.
    FreeGas(f64),
    /// Calendar months of a life.
    Months(i32),
    /// Days of a life.
    Days(i32),
    /// A date.
    Date(Date),
    /// A time of day.
    Time(Time),
    /// A text, name, path or word.
    Text(String),
    /// Yes or no.
    YesNo(bool),
}

impl Amount {
    /// The number of a number, a flow or a size as free gas, in the inside unit.
    pub const fn number(&self) -> Option<f64> {
        match self {
            Amount::Number(number) | Amount::Flow(number, _) | Amount::FreeGas(number) => Some(*number),
            _ => None,
        }
    }

    /// The date of a date.
    pub const fn date(&self) -> Option<Date> {
        match self {
            Amount::Date(date) => Some(*date),
            _ => None,
        }
    }

    /// The time of a time of day.
    pub const fn time(&self) -> Option<Time> {
        match self {
            Amount::Time(time) => Some(*time),
            _ => None,
        }
    }

    /// The words of a text, a name, a path or one of several words.
    pub fn text(&self) -> Option<&str> {
        match self {
            Amount::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The yes or no of one.
    pub const fn yes(&self) -> Option<bool> {
        match self {
            Amount::YesNo(yes) => Some(*yes),
            _ => None,
        }
    }
}

/// What stands for a value that is still to be answered.
pub(crate) const OPEN: &str = "?";

/// Whether a value is still to be answered.
pub(crate) fn is_open(value: &Value<'_>) -> bool {
    matches!(value, Value::Text(text) if text == OPEN)
}

/// The water volume in litres of a cylinder that is named by its free gas, from that gas in litres at one
/// atmosphere and its working pressure in bar gauge: ideal gas, as such cylinders are named.
pub(crate) fn water_litres(free_litres: f64, working_gauge_bar: f64) -> f64 {
    free_litres * ATMOSPHERE_BAR / working_gauge_bar
}

impl Quantity {
    /// Reads an argument or property as this quantity.
    ///
    /// # Errors
    /// Why it can't be read so.
    pub fn read_entry(self, entry: &Entry<'_>, measures: Measures) -> Result<Amount, UnitError> {
        let annotation = entry.annotation.as_ref().map(|word| word.text.as_ref());
        self.read(&entry.value, annotation, measures)
    }

    /// Reads a value as this quantity, its unit from the annotation or, where there is none, from the file's
    /// measures.
    ///
    /// # Errors
    /// Why it can't be read so. Whether the amount can be meant is not looked at.
    pub fn read(self, value: &Value<'_>, annotation: Option<&str>, measures: Measures) -> Result<Amount, UnitError> {
        if matches!(value, Value::Bad(_)) {
            return Err(UnitError::Unreadable);
        }
        if is_open(value) {
            return Err(UnitError::Open);
        }
        if annotation.is_some_and(|name| self.unit(name).is_none()) {
            // A value of the wrong type is the greater defect of the two.
            let unannotated = self.read(value, None, measures);
            return Err(match unannotated {
                Err(fault) if fault != UnitError::Bare => fault,
                _ => UnitError::Unit,
            });
        }
        match self {
            Quantity::Date => date_of(text_of(value)?).map(Amount::Date).ok_or(UnitError::Date),
            Quantity::Time => time_of(text_of(value)?).map(Amount::Time).ok_or(UnitError::Date),
            Quantity::Text | Quantity::Name | Quantity::Path => Ok(Amount::Text(text_of(value)?.to_owned())),
            Quantity::OneOf(words) => {
                let text = text_of(value)?;
                if words.contains(&text) { Ok(Amount::Text(text.to_owned())) } else { Err(UnitError::Type) }
            }
            Quantity::YesNo => match value {
                Value::Bool(yes) => Ok(Amount::YesNo(*yes)),
                Value::Text(text) if text == "yes" => Ok(Amount::YesNo(true)),
                Value::Text(text) if text == "no" => Ok(Amount::YesNo(false)),
                _ => Err(UnitError::Type),
            },
            Quantity::Count => match number_of(value)? {
                number if number.fract() == 0.0 => Ok(Amount::Number(number)),
                _ => Err(UnitError::Type),
            },
            Quantity::Life => life_of(number_of(value)?, annotation),
            _ => {
                let number = number_of(value)?;
                let unit = annotation.map_or_else(|| self.bare_unit(measures), |name| self.unit(name));
                let inside = unit.map_or(number, |unit| (number - unit.zero) * unit.factor);
                Ok(self.counted(inside, unit.map_or("", |unit| unit.name)))
            }
        }
    }

    fn counted(self, inside: f64, unit: &str) -> Amount {
        match (self, unit) {
            (Quantity::Size, "cuft") => Amount::FreeGas(inside),
            (Quantity::Flow | Quantity::Uptake, "free") => Amount::Flow(inside, Litres::Free),
            (Quantity::Flow | Quantity::Uptake, "stpd") => Amount::Flow(inside, Litres::Stpd),
            (Quantity::Flow | Quantity::Uptake, _) => Amount::Flow(inside, Litres::Unsaid),
            _ => Amount::Number(inside),
        }
    }
}

fn text_of<'v>(value: &'v Value<'_>) -> Result<&'v str, UnitError> {
    match value {
        Value::Text(text) => Ok(text),
        _ => Err(UnitError::Type),
    }
}

fn number_of(value: &Value<'_>) -> Result<f64, UnitError> {
    match value {
        Value::Integer(number) => Ok(*number as f64),
        Value::Float(number) if number.is_finite() => Ok(*number),
        _ => Err(UnitError::Type),
    }
}

/// A date as the language writes it, `2027-05-15`; ISO 8601 knows other forms, but one is enough to read aloud.
fn date_of(text: &str) -> Option<Date> {
    if is_shaped(text, "0000-00-00") { text.parse().ok() } else { None }
}

/// A time of day as the language writes it: `09:40`, or `09:40:30`.
fn time_of(text: &str) -> Option<Time> {
    if is_shaped(text, "00:00") || is_shaped(text, "00:00:00") { text.parse().ok() } else { None }
}

/// Whether a text is a shape's, with any digit where the shape has a nought.
fn is_shaped(text: &str, shape: &str) -> bool {
    let same = |(byte, shape): (u8, u8)| if shape == b'0' { byte.is_ascii_digit() } else { byte == shape };
    text.len() == shape.len() && text.bytes().zip(shape.bytes()).all(same)
}

/// A life in whole months or days.
fn life_of(number: f64, annotation: Option<&str>) -> Result<Amount, UnitError> {
    let unit = Quantity::Life.unit(annotation.ok_or(UnitError::Bare)?).ok_or(UnitError::Unit)?;
    let count = number * unit.factor;
    if count.fract() != 0.0 || count.abs() > f64::from(i32::MAX) {
        return Err(UnitError::Type);
    }
    let count = count as i32;
    Ok(if matches!(unit.name, "months" | "years") { Amount::Months(count) } else { Amount::Days(count) })
}

#[cfg(test)]
mod tests;
