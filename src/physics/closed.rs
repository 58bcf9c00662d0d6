//! A closed loop: oxygen is injected to hold a partial pressure, diluent keeps the volume.

use super::loop_gas::{LOOP_VAPOUR_BAR, free_l_per_bar};

/// How far below the set-point a diluent must be able to bring the loop when it is flushed, bar (common practice, no
/// source).
pub const DILUENT_MARGIN_BAR: f64 = 0.2;

/// From this fraction on a loop is taken for all oxygen: below its set-point only what the body takes and what depth adds
/// is injected then, since more would go out through the vent (common practice, no source).
pub const ALL_OXYGEN: f64 = 0.99;

/// The oxygen flow that holds a partial pressure in a full loop, free litres a minute: `V` at constant depth, more on the
/// way up, `V + |k|·F(1 − w/P)/(1 − F)`, as the vent carries oxygen off; less on the way down, as diluent of fraction `Fd`
/// brings some, `V − k·(Fd − F·w/P)/(1 − Fd)`, not below 0. `F` is `po2_bar/P`, `k` what the loop gains a minute, `w` its
/// water vapour. Infinite where the loop is all oxygen on the way up.
pub fn inject_that_holds_lpm(
    po2_bar: f64,
    bar: f64,
    bar_per_min: f64,
    diluent_o2: f64,
    loop_l: f64,
    metabolic_lpm: f64,
) -> f64 {
    let gain = free_l_per_bar(loop_l) * bar_per_min;
    let (o2, wet) = (po2_bar / bar, LOOP_VAPOUR_BAR / bar);
    if gain < 0.0 {
        metabolic_lpm - gain * o2 * (1.0 - wet) / (1.0 - o2).max(0.0)
    } else {
        (metabolic_lpm - gain * (diluent_o2 - o2 * wet) / (1.0 - diluent_o2)).max(0.0)
    }
}

/// The richest diluent that can still flush a loop down at a pressure: `Fd·P ≤ set-point − 0.2`.
pub fn richest_diluent_o2(set_point_bar: f64, pressure_bar: f64) -> f64 {
    ((set_point_bar - DILUENT_MARGIN_BAR) / pressure_bar).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_way_up_costs_oxygen() {
        // 6 L loop, 1.3 bar held at 2 bar ambient, going up 9 m a minute: 1 + 5.4·0.95442·0.97335·0.65/0.35.
        let inject = inject_that_holds_lpm(1.3, 2.0, -0.9, 0.21, 6.0, 1.0);
        assert!((inject - 10.316).abs() < 0.001, "{inject}");
        assert_eq!(inject_that_holds_lpm(1.3, 2.0, 0.0, 0.21, 6.0, 1.0), 1.0);
        assert_eq!(inject_that_holds_lpm(1.3, 2.0, 2.0, 0.21, 6.0, 1.0), 0.0);
        assert_eq!(inject_that_holds_lpm(2.0, 2.0, -0.9, 0.21, 6.0, 1.0), f64::INFINITY);
    }

    #[test]
    fn diluent_bounds() {
        assert!((richest_diluent_o2(1.3, 5.0) - 0.22).abs() < 1e-12);
    }
}
