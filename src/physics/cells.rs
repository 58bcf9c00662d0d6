//! Oxygen cells.

/// Oxygen in dry air by volume (ISO 2533: 20.9476 %, rounded as oxygen analysers are).
pub const AIR_O2: f64 = 0.2095;
/// What a linear cell gives in pure oxygen over what it gives in dry air, at one pressure: 1/0.2095.
pub const OXYGEN_OVER_AIR: f64 = 1.0 / AIR_O2;
/// Months from making after which a cell has ended, if the maker says nothing else (common practice, no source).
pub const MONTHS_FROM_MAKING: i32 = 18;
/// A ratio off by this share is worth a note (common practice, no source).
pub const LINEARITY_NOTE: f64 = 0.05;
/// A ratio off by this share is an error (common practice, no source).
pub const LINEARITY_ERROR: f64 = 0.10;
/// Under this share of its first logged reading in oxygen a cell is weak (common practice, no source).
pub const WEAK_SHARE: f64 = 0.8;
/// Two cells of one unit further apart than this disagree, bar (common practice, no source).
pub const DISAGREE_BAR: f64 = 0.1;

/// What a cell should read, millivolts: `s·x·(P − pH₂O)`, with its sensitivity `s` in mV a bar of oxygen, the oxygen
/// fraction `x` of the dry gas, and the water vapour pressure of the gas it sits in.
pub fn expected_mv(sensitivity_mv_per_bar: f64, o2: f64, pressure_bar: f64, vapour_bar: f64) -> f64 {
    sensitivity_mv_per_bar * o2 * (pressure_bar - vapour_bar)
}

/// A cell's sensitivity from a reading in a known dry gas, mV a bar of oxygen; `None` where the reading or the partial
/// pressure is not above 0.
pub fn sensitivity_mv_per_bar(reading_mv: f64, o2: f64, pressure_bar: f64) -> Option<f64> {
    let sensitivity = reading_mv / (o2 * pressure_bar);
    (reading_mv > 0.0 && sensitivity > 0.0 && sensitivity.is_finite()).then_some(sensitivity)
}

/// How far a cell is from linear: its reading in oxygen over its reading in air, against 4.773; a share, negative where
/// it falls short in oxygen. `None` where a reading is not above 0.
pub fn linearity(air_mv: f64, oxygen_mv: f64) -> Option<f64> {
    let off = oxygen_mv / air_mv / OXYGEN_OVER_AIR - 1.0;
    (air_mv > 0.0 && oxygen_mv > 0.0 && off.is_finite()).then_some(off)
}

/// The partial pressure of oxygen that a linear cell's reading stands for, bar; `None` as for
/// [`sensitivity_mv_per_bar`].
pub fn po2_bar(reading_mv: f64, sensitivity_mv_per_bar: f64) -> Option<f64> {
    let po2 = reading_mv / sensitivity_mv_per_bar;
    (sensitivity_mv_per_bar > 0.0 && po2.is_finite()).then_some(po2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ratio_of_a_linear_cell() {
        assert!((OXYGEN_OVER_AIR - 4.773).abs() < 5e-4);
        // 10.4 mV in air and 49.1 in oxygen: 1.1 % short, within 5 %.
        let off = linearity(10.4, 49.1).unwrap_or(f64::NAN);
        assert!((off + 0.0109).abs() < 1e-4);
        assert_eq!(linearity(0.0, 49.1), None);
        assert_eq!(linearity(f64::NAN, 49.1), None);
    }

    #[test]
    fn reading_and_sensitivity_agree() {
        let s = sensitivity_mv_per_bar(10.0, AIR_O2, 1.01325).unwrap_or(f64::NAN);
        assert!((expected_mv(s, AIR_O2, 1.01325, 0.0) - 10.0).abs() < 1e-12);
        assert!((po2_bar(10.0, s).unwrap_or(f64::NAN) - AIR_O2 * 1.01325).abs() < 1e-12);
    }
}
