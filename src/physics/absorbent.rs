//! Carbon dioxide and the absorbent that takes it up.

use super::litres::Stpd;

/// Carbon dioxide breathed out for oxygen taken up, unless said (common practice, no source; 1.0 is the safe side).
pub const QUOTIENT: f64 = 1.0;
/// The share of the first bed's rating that may be used (common practice, no source).
pub const USABLE_SHARE: f64 = 2.0 / 3.0;
/// More carbon dioxide than this for a kilogram of absorbent is not to be believed, litres (measured soda limes take 116
/// and 153 L/kg; 150 is the top of what is called practical).
pub const PLAUSIBLE_L_PER_KG: f64 = 150.0;

/// Carbon dioxide made, litres a minute, at the reference of the oxygen figure.
pub fn carbon_dioxide_lpm(metabolic_lpm: f64, quotient: f64) -> f64 {
    metabolic_lpm * quotient
}

/// Rated minutes that one minute at an output uses up: `max(1, CO₂/rated CO₂)`. Harder work shortens, easier earns
/// nothing. Infinite for a rating that is not above 0.
pub fn minutes_per_minute(Stpd(co2_lpm): Stpd, Stpd(rated_lpm): Stpd) -> f64 {
    if rated_lpm > 0.0 && co2_lpm.is_finite() { (co2_lpm / rated_lpm).max(1.0) } else { f64::INFINITY }
}

/// What is left of a bed's duration in water of a temperature, against 21.1 °C: 0.75 at 4.4 °C, linear (U.S. Navy
/// closed-circuit figures, 5 h and 6 h 40 min at 40 °F and 70 °F). Warmer earns nothing; colder goes on along the line,
/// never below 0.
pub fn cold_factor(water_c: f64) -> f64 {
    const COLD_C: f64 = 4.4;
    const WARM_C: f64 = 21.1;
    const AT_COLD: f64 = 0.75;
    (AT_COLD + (1.0 - AT_COLD) * (water_c - COLD_C) / (WARM_C - COLD_C)).clamp(0.0, 1.0)
}

/// Rated minutes of one bed in water of a temperature, from a rating in water of another: warmer water than the
/// rating's earns nothing.
pub fn rated_in_water_min(rated_min: f64, rated_c: f64, water_c: f64) -> f64 {
    let at_rating = cold_factor(rated_c);
    if at_rating > 0.0 { rated_min * (cold_factor(water_c) / at_rating).min(1.0) } else { 0.0 }
}

/// Carbon dioxide a kilogram that a rating claims, L/kg; `None` without absorbent.
pub fn claimed_l_per_kg(rated_min: f64, Stpd(rated_lpm): Stpd, absorbent_kg: f64) -> Option<f64> {
    let claimed = rated_min * rated_lpm / absorbent_kg;
    (absorbent_kg > 0.0 && claimed.is_finite()).then_some(claimed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cold_shortens_as_measured() {
        // U.S. Navy closed-circuit durations: 6 h 40 min at 70 °F, 5 h at 40 °F.
        assert!((400.0 * cold_factor(4.4) - 300.0).abs() < 1e-9);
        assert_eq!(cold_factor(30.0), 1.0);
        assert_eq!(cold_factor(-1e9), 0.0);
    }

    #[test]
    fn hard_work_shortens_and_ease_earns_nothing() {
        assert_eq!(minutes_per_minute(Stpd(2.4), Stpd(1.2)), 2.0);
        assert_eq!(minutes_per_minute(Stpd(0.6), Stpd(1.2)), 1.0);
        assert_eq!(minutes_per_minute(Stpd(1.0), Stpd(0.0)), f64::INFINITY);
        assert_eq!(rated_in_water_min(180.0, 15.0, 20.0), 180.0);
        assert!(rated_in_water_min(180.0, 15.0, 9.0) < 180.0);
    }

    #[test]
    fn a_claim_per_kilogram() {
        assert_eq!(claimed_l_per_kg(180.0, Stpd(1.2), 1.5), Some(144.0));
        assert_eq!(claimed_l_per_kg(180.0, Stpd(1.2), 0.0), None);
    }
}
