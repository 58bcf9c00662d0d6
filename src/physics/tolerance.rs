//! How much of a number is rounding, by what it measures.
//!
//! What stands exactly on a limit must not be taken for beyond it, whichever way its last digits fell. Each is far below
//! what any instrument shows.

/// Partial pressures of oxygen, bar.
pub const PO2_BAR: f64 = 1e-9;
/// Fractions, shares and ratios.
pub const FRACTION: f64 = 1e-9;
/// Free litres: less than this is no gas, and no lack of it.
pub const LITRES: f64 = 1e-6;
/// Flows, free litres a minute.
pub const LPM: f64 = 1e-9;
/// Spans that are worked out, minutes.
pub const MINUTES: f64 = 1e-6;
/// Instants of one run: closer than this they are one, and what lasts less takes no time, minutes.
pub const INSTANT_MIN: f64 = 1e-9;
/// Depths: closer than a millimetre they are one, metres.
pub const DEPTH_M: f64 = 1e-3;
/// Numbers as somebody wrote them, in any unit: what converting one may cost its last digits.
pub const WRITTEN: f64 = 1e-9;
