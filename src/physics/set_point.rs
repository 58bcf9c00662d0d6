//! What a loop's oxygen is held at.

use serde::Serialize;

/// What a controller holds a loop's oxygen at.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
pub enum SetPoint {
    /// A fraction, as a semi-closed loop's feed can hold it.
    Fraction(f64),
    /// A partial pressure in bar, as a closed loop's injector can.
    Bar(f64),
}

/// Written numbers from here up are percent. What can be meant is 21 and up, or 1.6 bar and down; nothing lies between.
const PERCENT_FROM: f64 = 5.0;

impl SetPoint {
    /// The set-point that a plan writes: percent from 21 up, bar from 1.6 down.
    pub fn of_written(number: f64) -> SetPoint {
        if number >= PERCENT_FROM { SetPoint::Fraction(number / 100.0) } else { SetPoint::Bar(number) }
    }

    /// The fraction that is held, where it is one.
    pub const fn fraction(self) -> Option<f64> {
        match self {
            SetPoint::Fraction(o2) => Some(o2),
            SetPoint::Bar(_) => None,
        }
    }

    /// The partial pressure that is held, bar, where it is one.
    pub const fn bar(self) -> Option<f64> {
        match self {
            SetPoint::Fraction(_) => None,
            SetPoint::Bar(po2_bar) => Some(po2_bar),
        }
    }

    /// The fraction of oxygen it stands for at an ambient pressure in bar; over 1 where that can't be reached.
    pub fn fraction_at(self, bar: f64) -> f64 {
        match self {
            SetPoint::Fraction(o2) => o2,
            SetPoint::Bar(po2_bar) => po2_bar / bar,
        }
    }

    /// The bare number: a fraction, or bar.
    pub const fn number(self) -> f64 {
        match self {
            SetPoint::Fraction(number) | SetPoint::Bar(number) => number,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The two ranges that the language gives a set-point, at their ends.
    #[test]
    fn a_written_number_is_percent_or_bar() {
        assert_eq!(SetPoint::of_written(21.0), SetPoint::Fraction(0.21));
        assert_eq!(SetPoint::of_written(100.0), SetPoint::Fraction(1.0));
        assert_eq!(SetPoint::of_written(1.6), SetPoint::Bar(1.6));
        assert_eq!(SetPoint::of_written(0.2), SetPoint::Bar(0.2));
    }

    /// 1.2 bar of 4 are 30 %.
    #[test]
    fn a_pressure_is_a_fraction_at_a_depth() {
        assert!((SetPoint::Bar(1.2).fraction_at(4.0) - 0.3).abs() < 1e-15);
        assert_eq!(SetPoint::Fraction(0.26).fraction_at(4.0), 0.26);
    }
}
