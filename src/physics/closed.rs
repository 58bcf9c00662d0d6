//! A closed loop: oxygen is injected to hold a partial pressure, diluent keeps the volume.

/// How far below the set-point a diluent must be able to bring the loop when it is flushed, bar (common practice, no
/// source).
pub const DILUENT_MARGIN_BAR: f64 = 0.2;

/// The oxygen flow that holds a partial pressure, free litres a minute: `V` at constant depth, more on the way up,
/// `V + V_loop·|dP/dt|·F/(1 − F)`, as the vent carries oxygen off; less on the way down, as diluent of fraction `Fd`
/// brings some, `V − k·Fd/(1 − Fd)`, not below 0. Infinite where the loop is all oxygen on the way up.
pub fn inject_that_holds_lpm(o2: f64, diluent_o2: f64, loop_l: f64, bar_per_min: f64, metabolic_lpm: f64) -> f64 {
    let gain = loop_l * bar_per_min;
    if gain < 0.0 {
        metabolic_lpm - gain * o2 / (1.0 - o2).max(0.0)
    } else {
        (metabolic_lpm - gain * diluent_o2 / (1.0 - diluent_o2)).max(0.0)
    }
}

/// How the partial pressure moves while nothing is injected and diluent keeps the loop full, bar a minute:
/// `(Fd(k + V) − V)/V_loop` at constant depth or on the way down.
pub fn po2_per_min_on_diluent(diluent_o2: f64, loop_l: f64, bar_per_min: f64, metabolic_lpm: f64) -> f64 {
    (diluent_o2 * (loop_l * bar_per_min + metabolic_lpm) - metabolic_lpm) / loop_l
}

/// Minutes from one partial pressure to a lower one at constant depth, nothing injected, diluent keeping the volume;
/// `None` if it doesn't fall.
pub fn minutes_on_diluent(from_bar: f64, to_bar: f64, diluent_o2: f64, loop_l: f64, metabolic_lpm: f64) -> Option<f64> {
    let minutes = (to_bar - from_bar) / po2_per_min_on_diluent(diluent_o2, loop_l, 0.0, metabolic_lpm);
    (minutes.is_finite() && minutes >= 0.0).then_some(minutes)
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
        // 6 L loop, 1.3 bar held at 2 bar ambient, going up 9 m a minute: 1 + 5.4·0.65/0.35.
        let inject = inject_that_holds_lpm(0.65, 0.21, 6.0, -0.9, 1.0);
        assert!((inject - 11.03).abs() < 0.005, "{inject}");
        assert_eq!(inject_that_holds_lpm(0.65, 0.21, 6.0, 0.0, 1.0), 1.0);
        assert_eq!(inject_that_holds_lpm(0.65, 0.21, 6.0, 2.0, 1.0), 0.0);
        assert_eq!(inject_that_holds_lpm(1.0, 0.21, 6.0, -0.9, 1.0), f64::INFINITY);
    }

    #[test]
    fn diluent_bounds() {
        assert!((richest_diluent_o2(1.3, 5.0) - 0.22).abs() < 1e-12);
        assert_eq!(minutes_on_diluent(1.3, 0.2, 1.0, 6.0, 1.0), None);
        let minutes = minutes_on_diluent(1.3, 0.5, 0.21, 6.0, 1.0).unwrap_or(f64::NAN);
        assert!((minutes - 6.0 * 0.8 / 0.79).abs() < 1e-12);
    }
}
