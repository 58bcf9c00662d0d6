//! The limits that dives are run with.

use crate::plan::{Limit, Limits, Role};

/// The PO2 above which no waiver holds, bar: the highest that published single-exposure limits speak of (NOAA).
pub(crate) const PO2_GREATEST: f64 = 1.6;

/// The greatest PO2 at which the gas of a role may be breathed, by limits that are already laid over the house's.
pub(crate) fn po2(limits: &Limits, role: Role) -> Limit {
    limits.held(role.po2_limit())
}
