//! Oxygen for first aid.

/// The flow that emergency oxygen is planned at, litres a minute (common practice, no source: a free-flow mask at 15).
pub const FIRST_AID_LPM: f64 = 15.0;

/// Minutes that free litres of oxygen last at a flow; 0 where either is not a positive number.
pub fn minutes(free_l: f64, lpm: f64) -> f64 {
    let minutes = free_l / lpm;
    if minutes.is_finite() && minutes > 0.0 { minutes } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_ten_litre_cylinders() {
        let ideal = crate::physics::gas::ideal_free_l(10.0, 200.0) * 2.0;
        assert!((minutes(ideal, FIRST_AID_LPM) - 266.7).abs() < 0.05);
    }

    #[test]
    fn nothing_lasts_no_time() {
        for free in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(minutes(free, 15.0), 0.0);
        }
        assert_eq!(minutes(100.0, 0.0), 0.0);
    }
}
