//! The steady state of a fed loop.
//!
//! Gas of oxygen fraction `Fs` enters at `Q`, the body takes `V` of oxygen out, the rest leaves through the overpressure
//! valve at the loop's own fraction: `Q·Fs − V = (Q − V)·F`. (Steady-state balance of Clarke & Southerland, NEDU, SPIE
//! 1999.) Flows are in free litres a minute; depth has no part in it.

use serde::Serialize;

/// Tolerance of a constant feed that was not measured, as a share of it (common practice, no source).
pub const FEED_TOLERANCE: f64 = 0.1;

/// The oxygen fraction a loop settles at, clamped to 0…`supply_o2`; `None` where the feed does not exceed what is
/// taken, so that nothing is carried away and no fraction is steady above 0.
pub fn steady_o2(feed_lpm: f64, supply_o2: f64, metabolic_lpm: f64) -> Option<f64> {
    let vent = feed_lpm - metabolic_lpm;
    (vent > 0.0 && metabolic_lpm >= 0.0 && vent.is_finite())
        .then(|| ((feed_lpm * supply_o2 - metabolic_lpm) / vent).max(0.0))
}

/// The feed that holds a fraction: `Q = V(1 − F)/(Fs − F)`; `None` where the supply is not richer.
pub fn feed_that_holds_lpm(o2: f64, supply_o2: f64, metabolic_lpm: f64) -> Option<f64> {
    let feed = metabolic_lpm * (1.0 - o2) / (supply_o2 - o2);
    (supply_o2 > o2 && feed.is_finite()).then(|| feed.max(0.0))
}

/// The leanest supply that holds a fraction at a feed: `Fs = F + V(1 − F)/Q`. May be above 1: then none does. `None`
/// without a feed.
pub fn leanest_supply_o2(o2: f64, feed_lpm: f64, metabolic_lpm: f64) -> Option<f64> {
    let supply = o2 + metabolic_lpm * (1.0 - o2) / feed_lpm;
    (feed_lpm > 0.0 && supply.is_finite()).then_some(supply)
}

/// The greatest metabolic oxygen at which a feed still holds a fraction: `V = Q(Fs − F)/(1 − F)`; 0 where the supply is
/// not richer.
pub fn greatest_metabolic_lpm(o2: f64, feed_lpm: f64, supply_o2: f64) -> f64 {
    let metabolic = feed_lpm * (supply_o2 - o2) / (1.0 - o2);
    if metabolic.is_finite() { metabolic.max(0.0) } else { 0.0 }
}

/// A loop's feeds, free litres a minute.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Feed {
    /// Always on.
    pub constant_lpm: f64,
    /// The most that the oxygen controller opens on top.
    pub controlled_lpm: f64,
}

impl Feed {
    /// All of it.
    pub fn greatest_lpm(&self) -> f64 {
        self.constant_lpm + self.controlled_lpm
    }

    /// The same at the low end of a tolerance on the constant feed: what the floor is judged by.
    pub fn low_end(&self, tolerance: f64) -> Feed {
        Feed { constant_lpm: self.constant_lpm * (1.0 - tolerance), ..*self }
    }

    /// The same at the high end: what endurance is judged by.
    pub fn high_end(&self, tolerance: f64) -> Feed {
        Feed { constant_lpm: self.constant_lpm * (1.0 + tolerance), ..*self }
    }

    /// What the controller gives, as the time-mean of its on/off valve, to hold a set-point: `Qd = clip(V(1 − F)/(Fs − F)
    /// − Qc, 0, greatest)`; the greatest where the supply is not richer than the set-point.
    pub fn sliding_lpm(&self, set_point: f64, supply_o2: f64, metabolic_lpm: f64) -> f64 {
        match feed_that_holds_lpm(set_point, supply_o2, metabolic_lpm) {
            Some(feed) => (feed - self.constant_lpm).clamp(0.0, self.controlled_lpm.max(0.0)),
            None => self.controlled_lpm.max(0.0),
        }
    }

    /// The whole feed while the set-point is held, or as near as the valve gets to it.
    pub fn at_set_point_lpm(&self, set_point: f64, supply_o2: f64, metabolic_lpm: f64) -> f64 {
        self.constant_lpm + self.sliding_lpm(set_point, supply_o2, metabolic_lpm)
    }

    /// The fraction the loop settles at with a controller: the set-point where the valve can hold it, more where the
    /// constant feed alone carries it over, less where all of it is too little.
    pub fn steady_o2(&self, set_point: f64, supply_o2: f64, metabolic_lpm: f64) -> Option<f64> {
        steady_o2(self.at_set_point_lpm(set_point, supply_o2, metabolic_lpm), supply_o2, metabolic_lpm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_formulas_agree_with_each_other() {
        let feed = feed_that_holds_lpm(0.27, 0.36, 1.5).unwrap_or(f64::NAN);
        assert!((steady_o2(feed, 0.36, 1.5).unwrap_or(f64::NAN) - 0.27).abs() < 1e-12);
        assert!((leanest_supply_o2(0.27, feed, 1.5).unwrap_or(f64::NAN) - 0.36).abs() < 1e-12);
        assert!((greatest_metabolic_lpm(0.27, feed, 0.36) - 1.5).abs() < 1e-12);
    }

    #[test]
    fn hostile_numbers_give_none_or_a_bound() {
        for x in [f64::NAN, f64::INFINITY, -1.0, 0.0] {
            assert!(steady_o2(x, 0.36, 1.0).is_none());
            assert!(leanest_supply_o2(0.21, x, 1.0).is_none_or(|s| s >= 0.0));
            assert!(greatest_metabolic_lpm(0.21, x, 0.36) >= 0.0);
        }
        assert_eq!(feed_that_holds_lpm(0.36, 0.36, 1.0), None);
        assert_eq!(steady_o2(2.0, 0.3, 1.9), Some(0.0));
    }
}
