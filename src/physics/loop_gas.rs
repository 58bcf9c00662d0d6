//! How much gas a breathing loop holds: what is breathed is warm and full of water vapour, whatever comes into the loop.
//!
//! A loop of `V` litres holds `N = V·(P − w)·293.15/(273.15 + T)` free litres of dry gas, a straight line in the ambient
//! pressure. Partial pressures of oxygen are `F·P` of the dry gas, as tables take them; what reaches the lungs is less by
//! `F·w`, some 5 % at the surface.

use super::litres::{FREE_C, ZERO_C};

/// The temperature of the gas in a loop, °C (common practice, no source).
pub const LOOP_C: f64 = 34.0;
/// Water vapour at that temperature, saturated, bar: 53.2 hPa by Buck's formula 6.1121·exp(17.502·t/(240.97 + t)) (Buck
/// 1981, from memory), rounded up.
pub const LOOP_VAPOUR_BAR: f64 = 0.0533;
/// Free litres that a litre of warm gas is a bar of dry pressure: 0.9544.
pub const FREE_PER_WARM: f64 = (ZERO_C + FREE_C) / (ZERO_C + LOOP_C);

/// The pressure that the dry gas of a loop has at an ambient pressure, bar.
pub fn dry_bar(bar: f64) -> f64 {
    bar - LOOP_VAPOUR_BAR
}

/// Free litres that a loop of so many litres takes or gives for each bar of ambient pressure.
pub fn free_l_per_bar(loop_l: f64) -> f64 {
    loop_l * FREE_PER_WARM
}

/// Free litres in a full loop of so many litres at an ambient pressure.
pub fn free_l(loop_l: f64, bar: f64) -> f64 {
    free_l_per_bar(loop_l) * dry_bar(bar)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loop_at_the_surface_and_at_depth() {
        // 6·(1 − 0.0533)·293.15/307.15 and 6·(4 − 0.0533)·293.15/307.15, by hand.
        assert!((free_l(6.0, 1.0) - 5.4213).abs() < 5e-5);
        assert!((free_l(6.0, 4.0) - 22.60085).abs() < 5e-5);
        let vapour_hpa = 6.1121 * libm::exp(17.502 * LOOP_C / (240.97 + LOOP_C));
        assert!((LOOP_VAPOUR_BAR * 1000.0 - vapour_hpa).abs() < 0.1, "{vapour_hpa}");
    }
}
