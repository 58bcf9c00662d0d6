//! A passive loop: each breath spills a share of itself, and fresh gas makes up for what is missing.

use super::litres::stpd_from_free;
use super::loop_gas::{FREE_PER_WARM, dry_bar};
use super::roots;

/// Ventilation over oxygen taken, litres at body state over STPD litres (U.S. Navy: 22.5/0.90 to 75/3.00, all 25; from
/// memory).
pub const VENTILATION_BTPS_PER_STPD: f64 = 25.0;

/// What a passive loop spills, free litres a minute for each bar of its dry gas: `25·V·293.15/(273.15 + T)/ratio`, `V` being
/// the oxygen taken in STPD litres. One part in `ratio` of each breath, which is as warm and wet as the loop.
/// `metabolic_lpm` is in free litres a minute.
pub fn spill_lpm_per_bar(metabolic_lpm: f64, ratio: f64) -> f64 {
    let spill = VENTILATION_BTPS_PER_STPD * stpd_from_free(metabolic_lpm) * FREE_PER_WARM / ratio;
    if spill.is_finite() { spill.max(0.0) } else { 0.0 }
}

/// What a passive loop spills at an ambient pressure, free litres a minute; one whose spill is compensated for depth spills
/// as at 1 bar.
pub fn spill_lpm(metabolic_lpm: f64, ratio: f64, bar: f64) -> f64 {
    spill_lpm_per_bar(metabolic_lpm, ratio) * dry_bar(bar).max(0.0)
}

/// The oxygen fraction a passive loop settles at, not below 0: `Fs − (1 − Fs)·V/q`; `None` without spill.
pub fn steady_o2(supply_o2: f64, metabolic_lpm: f64, spill_lpm: f64) -> Option<f64> {
    let o2 = supply_o2 - (1.0 - supply_o2) * metabolic_lpm / spill_lpm;
    (spill_lpm > 0.0 && o2.is_finite()).then(|| o2.max(0.0))
}

/// A passive loop that is kept full while the spill goes with ambient pressure, between two events.
///
/// With `q = c·(P − w)`, `N = n·(P − w)` and gas coming in at `q + V + k`, the product `H = (Fs − F)·(P − w)` obeys
/// `dH/dt = (V(1 − Fs) − c·H)/n` at any rate of depth change, so it has a closed form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spill {
    /// Oxygen fraction at the start.
    pub o2: f64,
    /// Ambient pressure at the start, bar.
    pub bar: f64,
    /// How it changes, bar a minute.
    pub bar_per_min: f64,
    /// What the loop holds, free litres a bar of its dry gas, `n`.
    pub free_l_per_bar: f64,
    /// The spill, free litres a minute a bar of dry gas, `c`.
    pub spill_lpm_per_bar: f64,
    /// Oxygen in the supply.
    pub supply_o2: f64,
    /// Oxygen taken, free litres a minute.
    pub metabolic_lpm: f64,
    /// Whether no oxygen is left, so that the body takes what comes in and the fraction stays 0.
    pub gone: bool,
}

impl Spill {
    /// Oxygen fraction after minutes, 0–1.
    pub fn o2_at(&self, minutes: f64) -> f64 {
        if self.gone {
            return 0.0;
        }
        self.oxygen(minutes).clamp(0.0, 1.0)
    }

    /// Minutes, up to `within_min`, until no oxygen is left; `None` if some is, or none was.
    pub fn minutes_to_no_oxygen(&self, within_min: f64) -> Option<f64> {
        if self.o2 <= 0.0 || self.gone {
            return None;
        }
        // F·(P − w) may fall and rise again: it is least where dH/dt = Fs·dP/dt.
        let behind = (self.supply_o2 - self.o2) * dry_bar(self.bar);
        let filling = self.metabolic_lpm * (1.0 - self.supply_o2) - self.spill_lpm_per_bar * behind;
        let turn = -libm::log(self.supply_o2 * self.bar_per_min * self.free_l_per_bar / filling) * self.free_l_per_bar
            / self.spill_lpm_per_bar;
        let last = if turn > 0.0 && turn < within_min && self.oxygen(within_min) > 0.0 { turn } else { within_min };
        if self.oxygen(last) > 0.0 {
            return None;
        }
        roots::zero(0.0, last, |minutes| self.oxygen(minutes))
    }

    fn oxygen(&self, minutes: f64) -> f64 {
        let source = self.metabolic_lpm * (1.0 - self.supply_o2);
        self.of(minutes, self.o2, self.supply_o2, source)
    }

    /// The fraction of another gas of the loop after minutes: as the oxygen's, only that the body takes none.
    pub fn inert_at(&self, minutes: f64, fraction: f64, supply_fraction: f64) -> f64 {
        self.of(minutes, fraction, supply_fraction, -self.metabolic_lpm * supply_fraction).clamp(0.0, 1.0)
    }

    fn of(&self, minutes: f64, fraction: f64, supply_fraction: f64, source: f64) -> f64 {
        let start = (supply_fraction - fraction) * dry_bar(self.bar);
        let c = self.spill_lpm_per_bar;
        let tau = minutes / self.free_l_per_bar;
        let phi = if c == 0.0 { tau } else { -libm::expm1(-c * tau) / c };
        let product = start + (source - c * start) * phi;
        supply_fraction - product / dry_bar(self.bar + self.bar_per_min * minutes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settles_at_the_steady_state() {
        let spill = Spill {
            o2: 0.17,
            bar: 4.0,
            bar_per_min: 0.0,
            free_l_per_bar: 6.0,
            spill_lpm_per_bar: spill_lpm_per_bar(1.2, 10.0),
            supply_o2: 0.36,
            metabolic_lpm: 1.2,
            gone: false,
        };
        let settled = steady_o2(0.36, 1.2, spill_lpm(1.2, 10.0, 4.0)).unwrap_or(f64::NAN);
        assert!((spill.o2_at(60.0) - settled).abs() < 1e-9);
        assert_eq!(steady_o2(0.36, 1.0, 0.0), None);
        assert_eq!(spill_lpm_per_bar(1.0, 0.0), 0.0);
    }

    #[test]
    fn fractions_add_up() {
        // Oxygen, helium and nitrogen of one loop on a ramp, each by its own equation, sum to 1.
        let spill = Spill {
            o2: 0.17,
            bar: 1.0,
            bar_per_min: 1.5,
            free_l_per_bar: 5.0,
            spill_lpm_per_bar: 2.5,
            supply_o2: 0.30,
            metabolic_lpm: 1.2,
            gone: false,
        };
        let sum = spill.o2_at(1.3) + spill.inert_at(1.3, 0.0, 0.2) + spill.inert_at(1.3, 0.83, 0.5);
        assert!((sum - 1.0).abs() < 1e-12, "{sum}");
    }
}
