//! The gas in a loop.

/// The gas in a loop.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LoopGas {
    /// Oxygen fraction.
    pub o2: f64,
    /// Helium fraction.
    pub he: f64,
    /// Free litres.
    pub litres: f64,
}
