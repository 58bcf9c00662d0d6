//! The reference states a litre of gas may be at.
//!
//! Inside, every litre is free: at 1 bar and 20 °C. A physiologist's litre of oxygen is STPD: dry, at 0 °C and one
//! standard atmosphere.

use serde::Serialize;

use super::pressure::ATMOSPHERE_BAR;

/// 0 °C in kelvin.
pub const ZERO_C: f64 = 273.15;
/// The temperature of a free litre, °C.
pub const FREE_C: f64 = 20.0;
/// The pressure of a free litre, bar.
pub const FREE_BAR: f64 = 1.0;
/// Free litres in one STPD litre: 1.08744.
pub const FREE_PER_STPD: f64 = ATMOSPHERE_BAR / FREE_BAR * (ZERO_C + FREE_C) / ZERO_C;
/// Water vapour at 37 °C, bar (6.282 kPa, CoolProp 8.0.0).
pub const BODY_VAPOUR_BAR: f64 = 0.06282;
/// STPD litres in one litre at body temperature and one atmosphere, saturated (BTPS): 0.826.
pub const STPD_PER_BTPS: f64 = (ATMOSPHERE_BAR - BODY_VAPOUR_BAR) / ATMOSPHERE_BAR * ZERO_C / (ZERO_C + 37.0);

/// A flow in free litres a minute, where another's litres might be taken for it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
pub struct Free(pub f64);

/// A flow in STPD litres a minute: what a body takes up or gives off.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
pub struct Stpd(pub f64);

impl Free {
    /// The same gas in STPD litres.
    pub fn stpd(self) -> Stpd {
        Stpd(stpd_from_free(self.0))
    }
}

impl Stpd {
    /// The same gas in free litres.
    pub fn free(self) -> Free {
        Free(free_from_stpd(self.0))
    }
}

/// STPD litres as free litres.
pub fn free_from_stpd(stpd_l: f64) -> f64 {
    stpd_l * FREE_PER_STPD
}

/// Free litres as STPD litres.
pub fn stpd_from_free(free_l: f64) -> f64 {
    free_l / FREE_PER_STPD
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conversion_factors_as_known() {
        // 1.01325 · 293.15 / 273.15.
        assert!((FREE_PER_STPD - 1.08744).abs() < 5e-6);
        assert!((stpd_from_free(1.0) - 0.91959).abs() < 5e-6);
        // Computed with CoolProp's saturation pressure at 37 °C.
        assert!((STPD_PER_BTPS - 0.8261).abs() < 5e-5);
    }
}
