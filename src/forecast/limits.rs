//! The limits that dives are run with, and what is usual where nobody sets one.

use crate::plan::{Limits, SPARE};

/// Greatest PO2 while working, bar (common practice, no source).
pub const PO2_WORKING: f64 = 1.4;
/// Greatest PO2 on stops, bar (common practice, no source).
pub const PO2_DECO: f64 = 1.6;
/// Greatest PO2 of bailout gas, bar (common practice, no source).
pub const PO2_BAILOUT: f64 = 1.6;
/// The PO2 above which no waiver holds, bar: the highest that published single-exposure limits speak of (NOAA).
pub const PO2_GREATEST: f64 = 1.6;
/// Gauge pressure left in a cylinder that feeds a loop, bar (common practice, no source).
pub const RESERVE_BAR: f64 = 50.0;
/// Gauge pressure under which no gas can be had, bar (common practice, no source).
pub const UNUSABLE_BAR: f64 = 20.0;

/// The greatest PO2 at which the gas of a role may be breathed, bar, by limits that are already laid over the house's.
pub fn greatest_po2(limits: &Limits, role: &str) -> f64 {
    let (limit, usual) = match role {
        "deco" => (&limits.po2_deco, PO2_DECO),
        "bailout" | SPARE => (&limits.po2_bailout, PO2_BAILOUT),
        _ => (&limits.po2_working, PO2_WORKING),
    };
    limit.as_ref().map_or(usual, |limit| limit.value)
}
