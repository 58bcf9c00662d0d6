//! How a loop's oxygen moves between two events, in closed form.
//!
//! Gas comes in at `Q`, of it oxygen `Σ Qᵢ·Fᵢ`; the body takes `V` of oxygen; what the loop can't hold leaves through the
//! overpressure valve as loop gas. With `N` free litres in the loop, growing by `k` a minute,
//!
//! `N·dF/dt = A − B·F`, `A = Σ Qᵢ·Fᵢ − V`, `B = Q − V`.
//!
//! That holds for a full loop on any depth change (the vent takes loop gas and leaves `F` alone) and for a loop that is
//! short of gas and vents nothing. With `τ = ∫ dt/N = ln(1 + k·t/N₀)/k` and `φ = (1 − e^(−B·τ))/B`,
//! `F = F₀ + (A − B·F₀)·φ`. Where `k` itself changes evenly, as on a passive loop that spills and gets nothing, `τ` is the
//! integral over a parabola, `2/√Δ·artanh(√Δ·t/(2N₀ + k·t))` with `Δ = k² − 2·N₀·dk/dt`, and the rest stands.

/// The oxygen of a loop that nobody has breathed from yet but with air: what is breathed out (common practice, no
/// source).
pub const EXHALED_AIR_O2: f64 = 0.17;
/// A loop short by this many litres can't be breathed from (common practice, no source).
pub const SHORT_UNBREATHABLE_L: f64 = 1.5;

/// A loop between two events: what comes in and what the body takes constant, the loop's gas growing or shrinking evenly
/// or along a parabola.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Oxygen fraction at the start, `F₀`.
    pub o2: f64,
    /// Gas in the loop at the start, free litres, `N₀`.
    pub litres: f64,
    /// What the loop gains a minute, free litres, `k`.
    pub gain_lpm: f64,
    /// How that changes a minute, free litres a minute; mostly 0.
    pub gain_lpm_per_min: f64,
    /// Oxygen in less oxygen taken, free litres a minute, `A`.
    pub oxygen_lpm: f64,
    /// Gas in less oxygen taken, free litres a minute, `B`.
    pub wash_lpm: f64,
}

impl Balance {
    /// The balance for gas coming in at `feed_lpm` with oxygen `supply_o2`.
    pub fn fed(o2: f64, litres: f64, gain_lpm: f64, feed_lpm: f64, supply_o2: f64, metabolic_lpm: f64) -> Balance {
        Balance {
            o2,
            litres,
            gain_lpm,
            gain_lpm_per_min: 0.0,
            oxygen_lpm: feed_lpm * supply_o2 - metabolic_lpm,
            wash_lpm: feed_lpm - metabolic_lpm,
        }
    }

    /// Free litres in the loop after minutes, not below 0.
    pub fn litres_at(&self, minutes: f64) -> f64 {
        (self.litres + (self.gain_lpm + 0.5 * self.gain_lpm_per_min * minutes) * minutes).max(0.0)
    }

    /// Oxygen fraction after minutes, 0–1.
    pub fn o2_at(&self, minutes: f64) -> f64 {
        let rate = self.oxygen_lpm - self.wash_lpm * self.o2;
        if rate == 0.0 {
            return self.o2;
        }
        (self.o2 + rate * self.phi(self.tau(minutes))).clamp(0.0, 1.0)
    }

    /// The fraction of another gas of the loop after minutes, from its fraction at the start and what comes in of it;
    /// the body takes none.
    pub fn inert_at(&self, minutes: f64, fraction: f64, inert_lpm: f64) -> f64 {
        let rate = inert_lpm - self.wash_lpm * fraction;
        if rate == 0.0 {
            return fraction;
        }
        (fraction + rate * self.phi(self.tau(minutes))).clamp(0.0, 1.0)
    }

    /// How fast the oxygen fraction moves after minutes, a minute.
    pub fn o2_per_min_at(&self, minutes: f64) -> f64 {
        (self.oxygen_lpm - self.wash_lpm * self.o2_at(minutes)) / self.litres_at(minutes)
    }

    /// Minutes until the oxygen fraction is at a value that it is not at now; `None` if it never gets there.
    pub fn minutes_to_o2(&self, o2: f64) -> Option<f64> {
        let phi = (o2 - self.o2) / (self.oxygen_lpm - self.wash_lpm * self.o2);
        if phi.is_nan() || phi <= 0.0 {
            return None;
        }
        let tau = if self.wash_lpm == 0.0 { phi } else { -libm::log1p(-self.wash_lpm * phi) / self.wash_lpm };
        let minutes = self.minutes_of(tau);
        (minutes.is_finite() && minutes > 0.0).then_some(minutes)
    }

    /// The inverse of [`Balance::tau`].
    fn minutes_of(&self, tau: f64) -> f64 {
        let (gain, growth) = (self.gain_lpm, self.gain_lpm_per_min);
        if growth != 0.0 {
            let square = gain * gain - 2.0 * growth * self.litres;
            let root = libm::sqrt(square.abs());
            // t/(2N₀ + k·t)
            let share = if root == 0.0 {
                0.5 * tau
            } else if square > 0.0 {
                libm::tanh(0.5 * root * tau) / root
            } else {
                libm::tan(0.5 * root * tau) / root
            };
            2.0 * self.litres * share / (1.0 - gain * share)
        } else if gain != 0.0 {
            self.litres * libm::expm1(gain * tau) / gain
        } else {
            self.litres * tau
        }
    }

    /// `∫ dt/N`, minutes a free litre.
    fn tau(&self, minutes: f64) -> f64 {
        if minutes <= 0.0 {
            0.0
        } else if self.gain_lpm_per_min != 0.0 {
            let square = self.gain_lpm * self.gain_lpm - 2.0 * self.gain_lpm_per_min * self.litres;
            let root = libm::sqrt(square.abs());
            let (over, under) = (minutes, 2.0 * self.litres + self.gain_lpm * minutes);
            if root == 0.0 {
                2.0 * over / under
            } else if square > 0.0 {
                // At or past the moment the loop is empty no bound is left.
                let share = root * over / under;
                2.0 / root * libm::atanh(if (0.0..1.0).contains(&share) { share } else { 1.0 })
            } else {
                2.0 / root * libm::atan2(root * over, under)
            }
        } else if self.gain_lpm == 0.0 {
            minutes / self.litres
        } else {
            // At or past the moment the loop is empty no bound is left.
            libm::log1p((self.gain_lpm * minutes / self.litres).max(-1.0)) / self.gain_lpm
        }
    }

    fn phi(&self, tau: f64) -> f64 {
        if self.wash_lpm == 0.0 { tau } else { -libm::expm1(-self.wash_lpm * tau) / self.wash_lpm }
    }
}

/// The fraction after flushing a loop with so many of its own volumes of another gas: `Fs + (F − Fs)·e^(−v)`.
pub fn flushed(fraction: f64, supply_fraction: f64, volumes: f64) -> f64 {
    supply_fraction + (fraction - supply_fraction) * libm::exp(-volumes.max(0.0))
}

/// Loop volumes of a gas that flush a fraction to another; `None` if the gas can't bring it there.
pub fn flush_volumes(fraction: f64, wanted: f64, supply_fraction: f64) -> Option<f64> {
    let volumes = libm::log((supply_fraction - fraction) / (supply_fraction - wanted));
    (volumes.is_finite() && volumes >= 0.0).then_some(volumes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_nothing_out_stays() {
        let still = Balance::fed(0.2, 6.0, 0.0, 0.0, 0.36, 0.0);
        assert_eq!(still.o2_at(1e6), 0.2);
        assert_eq!(still.minutes_to_o2(0.1), None);
    }

    #[test]
    fn time_to_a_value_is_the_inverse() {
        for (k, q, v) in [(0.0, 6.0, 1.0), (9.0, 10.0, 1.0), (-3.0, 2.0, 1.5), (0.0, 1.0, 1.0), (-1.5, 0.0, 1.5)] {
            let balance = Balance::fed(0.27, 24.0, k, q, 0.36, v);
            let later = balance.o2_at(1.7);
            let back = balance.minutes_to_o2(later);
            assert!(back.is_some_and(|t| (t - 1.7).abs() < 1e-11), "{k} {q} {v}: {back:?}");
        }
    }

    #[test]
    fn a_volume_along_a_parabola() {
        // The spill of a passive loop on the way down, on the way up, and one that turns round before it is empty.
        for (k, growth) in [(-4.0, -1.5), (-4.0, 0.2), (-8.0, 3.0), (-8.0, 2.0), (0.0, 1.0)] {
            let curved = Balance { gain_lpm_per_min: growth, ..Balance::fed(0.27, 16.0, k, 1.0, 0.36, 1.5) };
            // The same in many straight pieces.
            let (steps, mut straight) = (100_000, curved);
            let h = 1.6 / f64::from(steps);
            for i in 0..steps {
                let begins = f64::from(i) * h;
                let litres = curved.litres_at(begins);
                let gain_lpm = (curved.litres_at(begins + h) - litres) / h;
                straight = Balance { litres, gain_lpm, gain_lpm_per_min: 0.0, ..straight };
                straight.o2 = straight.o2_at(h);
            }
            let o2 = curved.o2_at(1.6);
            assert!((o2 - straight.o2).abs() < 1e-9, "{k} {growth}: {o2} {}", straight.o2);
            assert!(curved.minutes_to_o2(o2).is_some_and(|t| (t - 1.6).abs() < 1e-9), "{k} {growth}");
        }
    }

    #[test]
    fn a_loop_breathed_empty_is_bounded() {
        let dying = Balance::fed(0.21, 6.0, -1.5, 0.0, 0.36, 1.5);
        for minutes in [3.9, 4.0, 4.1, 1e9] {
            assert_eq!(dying.o2_at(minutes), 0.0);
        }
        assert_eq!(dying.litres_at(5.0), 0.0);
    }
}
