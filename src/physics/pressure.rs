//! Depth, altitude and pressure.

use serde::Serialize;

/// Standard acceleration of gravity, m/s² (ISO 80000-3).
pub const GRAVITY: f64 = 9.80665;
/// The density that depth gauges assume whatever water they are in, kg/m³ (EN 13319, from memory): 10 m are 1 bar.
pub const INSTRUMENT_DENSITY: f64 = 1019.7;
/// Fresh water, kg/m³.
pub const FRESH_DENSITY: f64 = 1000.0;
/// Sea water, kg/m³, a typical figure.
pub const SALT_DENSITY: f64 = 1025.0;
/// One standard atmosphere, bar.
pub const ATMOSPHERE_BAR: f64 = 1.01325;
/// One metre of sea water, bar (U.S. Navy Diving Manual: 10 kPa).
pub const MSW_BAR: f64 = 0.1;
/// One foot of sea water, bar (U.S. Navy Diving Manual: 3.0643 kPa).
pub const FSW_BAR: f64 = 0.030643;

/// Pressure of the standard atmosphere at an altitude, bar.
///
/// ISO 2533:1975, the layer up to 11 km: `p = 101325 (1 − 0.0065 H / 288.15)^5.25588` with the geopotential altitude
/// `H = r h / (r + h)`, `r` = 6356766 m. `altitude_m` is the geometric altitude a map gives. Altitudes outside
/// −1000…11000 m are clamped to it; NaN counts as sea level.
pub fn surface_bar(altitude_m: f64) -> f64 {
    const EARTH_RADIUS_M: f64 = 6_356_766.0;
    const LAPSE_K_PER_M: f64 = 0.0065;
    const SEA_LEVEL_K: f64 = 288.15;
    /// `g / (R · lapse)` with ISO 2533's `R` = 287.05287 J/(kg·K).
    const EXPONENT: f64 = GRAVITY / (287.05287 * LAPSE_K_PER_M);
    let h = if altitude_m.is_nan() { 0.0 } else { altitude_m.clamp(-1000.0, 11_000.0) };
    let geopotential = EARTH_RADIUS_M * h / (EARTH_RADIUS_M + h);
    ATMOSPHERE_BAR * libm::pow(1.0 - LAPSE_K_PER_M * geopotential / SEA_LEVEL_K, EXPONENT)
}

/// What stands over and around a diver: the pressure at the surface and how it grows with depth.
///
/// `P = Ps + ρ·g·depth·10⁻⁵`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Water {
    /// Pressure at the surface, bar.
    pub surface_bar: f64,
    /// Bar a metre.
    pub bar_per_m: f64,
}

impl Water {
    /// Depths as an instrument shows them, under a given surface pressure.
    pub fn by_instrument(surface_bar: f64) -> Water {
        Water::by_line(surface_bar, INSTRUMENT_DENSITY)
    }

    /// Depths by a measured line in water of a density, kg/m³.
    pub fn by_line(surface_bar: f64, density_kg_m3: f64) -> Water {
        Water { surface_bar, bar_per_m: density_kg_m3 * GRAVITY * 1e-5 }
    }

    /// Absolute pressure at a depth, bar.
    pub fn pressure_bar(&self, depth_m: f64) -> f64 {
        self.surface_bar + self.bar_per_m * depth_m
    }

    /// Depth at an absolute pressure, metres; negative above the surface.
    pub fn depth_m(&self, pressure_bar: f64) -> f64 {
        (pressure_bar - self.surface_bar) / self.bar_per_m
    }
}

impl Default for Water {
    /// Instrument depths at sea level.
    fn default() -> Water {
        Water::by_instrument(ATMOSPHERE_BAR)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_metres_on_a_gauge_are_a_bar() {
        let water = Water::by_instrument(1.0);
        // EN 13319 (from memory): 1019.7 kg/m³ makes 10 m one bar to 2e-5.
        assert!((water.pressure_bar(10.0) - 2.0).abs() < 2e-5);
        assert!((water.depth_m(water.pressure_bar(37.0)) - 37.0).abs() < 1e-12);
    }

    #[test]
    fn no_altitude_makes_nonsense() {
        for altitude in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1e300, 1e300] {
            let bar = surface_bar(altitude);
            assert!(bar > 0.2 && bar < 1.2, "{altitude}: {bar}");
        }
    }
}
