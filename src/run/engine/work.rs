//! How hard a diver works.

use serde::Serialize;

/// How hard a diver works, as what it costs.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Work {
    /// Oxygen that the body takes, free litres a minute.
    pub oxygen_lpm: f64,
    /// Gas breathed on open circuit at the surface, free litres a minute.
    pub gas_lpm: f64,
}
