//! Figures in the measures that a reader goes by. Partial pressures stay bar, as the trade has them everywhere.

use crate::findings::Told;
use crate::rules::say;
use crate::words::{CUBIC_FOOT_L, FOOT_M, Measures, PSI_BAR};

/// A depth, rounded to the deeper tenth of a metre or foot.
pub(crate) fn depth(depth_m: f64, measures: Measures) -> Told {
    match measures {
        Measures::Metric => say::number(say::up(depth_m.max(0.0), 0.1)),
        Measures::Imperial => say::number(say::up((depth_m / FOOT_M).max(0.0), 1.0)),
    }
}

/// A depth in whole metres or feet, rounded to the deeper.
pub(crate) fn whole_depth(depth_m: f64, measures: Measures) -> Told {
    match measures {
        Measures::Metric => say::number(say::up(depth_m, 1.0)),
        Measures::Imperial => depth(depth_m, measures),
    }
}

/// Its unit.
pub(crate) const fn depth_unit(measures: Measures) -> &'static str {
    match measures {
        Measures::Metric => "m",
        Measures::Imperial => "ft",
    }
}

/// Gas that is taken, rounded up.
pub(crate) fn gas(litres: f64, measures: Measures) -> Told {
    match measures {
        Measures::Metric => say::number(say::up(litres, 1.0)),
        Measures::Imperial => say::number(say::up(litres / CUBIC_FOOT_L, 0.1)),
    }
}

/// Gas that is left, cubic feet, rounded down.
pub(crate) fn gas_had(litres: f64) -> Told {
    say::number(say::down(litres / CUBIC_FOOT_L, 0.1))
}

/// Its unit.
pub(crate) const fn gas_unit(measures: Measures) -> &'static str {
    match measures {
        Measures::Metric => "L",
        Measures::Imperial => "cuft",
    }
}

/// Pressure left in a cylinder, rounded down.
pub(crate) fn pressure(bar: f64, measures: Measures) -> Told {
    match measures {
        Measures::Metric => say::pressure_had(bar),
        Measures::Imperial => say::number(say::down((bar / PSI_BAR).max(0.0), 10.0)),
    }
}

/// Its unit.
pub(crate) const fn pressure_unit(measures: Measures) -> &'static str {
    match measures {
        Measures::Metric => "bar",
        Measures::Imperial => "psi",
    }
}

/// A temperature with its unit.
pub(crate) fn temperature(celsius: f64, measures: Measures) -> String {
    match measures {
        Measures::Metric => format!("{} °C", say::number(celsius)),
        Measures::Imperial => format!("{} °F", say::number((celsius * 9.0 / 5.0 + 32.0).round())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Handbook values: 33 ft are 10.06 m; 3,000 psi are 206.8 bar; 80 cuft are 2,265 L (NIST SP 811, from memory).
    #[test]
    fn handbook_values_are_met() {
        let imperial = Measures::Imperial;
        assert_eq!([depth(10.058, imperial), depth(10.06, Measures::Metric)], ["33", "10.1"]);
        assert_eq!([pressure(206.85, imperial), pressure(206.85, Measures::Metric)], ["3000", "206"]);
        assert_eq!([gas(2265.3, imperial), gas(2265.3, Measures::Metric)], ["80", "2266"]);
        assert_eq!([temperature(9.0, imperial), temperature(9.0, Measures::Metric)], ["48 °F", "9 °C"]);
    }
}
