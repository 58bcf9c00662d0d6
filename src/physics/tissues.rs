//! Inert gas in the body: sixteen compartments that take up nitrogen and helium, and what each tolerates.
//!
//! ZH-L16C (Bühlmann, Tauchmedizin), compartments 1b to 16. The coefficients are from memory; those of nitrogen agree with
//! the published formulas `a = 2·t^(−1/3)` (before the reductions of version C) and `b = 1.005 − t^(−1/2)` but for `b` of
//! compartment 4, where the published table itself departs. Helium's have no formula to check them by.
//!
//! A compartment of half-time `t` follows what is inspired with `k = ln 2/t`: `dp/dt = k·(F·(P − P_H2O) − p)`. Its
//! tolerated ambient pressure is `(p − a)·b`, `a` and `b` of both gases weighted by their tensions.

mod gradient;
mod uptake;

pub use gradient::{Gradients, Line};
pub use uptake::{Curve, Uptake};

use serde::Serialize;

use super::Mix;
use super::mix::AIR_INERT;
use super::pressure::surface_bar;

/// Water vapour in the lungs at 37 °C, bar (Bühlmann's convention; carbon dioxide is taken to leave as oxygen comes).
pub const WATER_VAPOUR_BAR: f64 = 0.0627;
/// How many compartments there are.
pub const COMPARTMENTS: usize = 16;
/// Up to this altitude the site's own air is what the body is taken to be used to, metres.
pub const ALTITUDE_COUNTS_M: f64 = 300.0;
/// After so many hours at a site the body is taken to be used to its air (common practice, no source).
pub const ACCLIMATISED_H: f64 = 24.0;

pub(super) type Each = [f64; COMPARTMENTS];

/// What a gas does in each compartment.
pub(super) struct Gas {
    /// Half-times, minutes.
    pub half_min: Each,
    /// `a`, bar.
    pub a_bar: Each,
    /// `b`.
    pub b: Each,
}

/// Nitrogen (ZH-L16C, from memory).
pub(super) const NITROGEN: Gas = Gas {
    half_min: [5.0, 8.0, 12.5, 18.5, 27.0, 38.3, 54.3, 77.0, 109.0, 146.0, 187.0, 239.0, 305.0, 390.0, 498.0, 635.0],
    a_bar: [
        1.1696, 1.0000, 0.8618, 0.7562, 0.6200, 0.5043, 0.4410, 0.4000, 0.3750, 0.3500, 0.3295, 0.3065, 0.2835, 0.2610,
        0.2480, 0.2327,
    ],
    b: [
        0.5578, 0.6514, 0.7222, 0.7825, 0.8126, 0.8434, 0.8693, 0.8910, 0.9092, 0.9222, 0.9319, 0.9403, 0.9477, 0.9544,
        0.9602, 0.9653,
    ],
};

/// Helium (ZH-L16, from memory).
pub(super) const HELIUM: Gas = Gas {
    half_min: [
        1.88, 3.02, 4.72, 6.99, 10.21, 14.48, 20.53, 29.11, 41.20, 55.19, 70.69, 90.34, 115.29, 147.42, 188.24, 240.03,
    ],
    a_bar: [
        1.6189, 1.3830, 1.1919, 1.0458, 0.9220, 0.8205, 0.7305, 0.6502, 0.5950, 0.5545, 0.5333, 0.5189, 0.5181, 0.5176,
        0.5172, 0.5119,
    ],
    b: [
        0.4770, 0.5747, 0.6527, 0.7223, 0.7582, 0.7957, 0.8279, 0.8553, 0.8757, 0.8903, 0.8997, 0.9073, 0.9122, 0.9171,
        0.9217, 0.9267,
    ],
};

/// Nitrogen and helium in each compartment, bar.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tissues {
    n2: Each,
    he: Each,
}

/// The pressure that the body is used to at the start of a dive, bar: the site's own, but up to
/// [`ACCLIMATISED_H`] at a site above [`ALTITUDE_COUNTS_M`] that of where the diver lives.
pub fn acclimatised_bar(site_altitude_m: f64, site_bar: f64, hours_there: f64, lives_altitude_m: f64) -> f64 {
    let new_there = site_altitude_m > ALTITUDE_COUNTS_M && hours_there < ACCLIMATISED_H;
    if new_there { surface_bar(lives_altitude_m) } else { site_bar }
}

/// What of a mix is inert, in the lungs at an ambient pressure, bar: nitrogen and helium.
pub fn alveolar_bar(mix: Mix, bar: f64) -> (f64, f64) {
    let dry = (bar - WATER_VAPOUR_BAR).max(0.0);
    (mix.n2().max(0.0) * dry, mix.he.max(0.0) * dry)
}

impl Tissues {
    /// A body long at rest on air under an ambient pressure, bar.
    pub fn at_rest(bar: f64) -> Tissues {
        Tissues { n2: [AIR_INERT * (bar - WATER_VAPOUR_BAR).max(0.0); COMPARTMENTS], he: [0.0; COMPARTMENTS] }
    }

    /// Nitrogen in each compartment, from the fastest to the slowest, bar.
    pub fn nitrogen_bar(&self) -> &[f64; COMPARTMENTS] {
        &self.n2
    }

    /// Helium in each compartment, from the fastest to the slowest, bar.
    pub fn helium_bar(&self) -> &[f64; COMPARTMENTS] {
        &self.he
    }

    /// Both in each compartment, bar.
    pub fn inert_bar(&self) -> [f64; COMPARTMENTS] {
        std::array::from_fn(|i| self.n2[i] + self.he[i])
    }

    /// After minutes on a mix while ambient pressure goes evenly from one value to another, bar: Schreiner's equation,
    /// exact.
    #[must_use]
    pub fn after(&self, mix: Mix, from_bar: f64, to_bar: f64, minutes: f64) -> Tissues {
        if mix.he == 0.0 && self.he == [0.0; COMPARTMENTS] {
            return uptake::nitrogen_alone(self, mix, from_bar, to_bar, minutes);
        }
        Uptake::over(minutes).of(self, mix, from_bar, to_bar)
    }

    /// After minutes at the surface on air, under its pressure, bar.
    #[must_use]
    pub fn after_surface(&self, bar: f64, minutes: f64) -> Tissues {
        self.after(Mix { o2: 1.0 - AIR_INERT, he: 0.0 }, bar, bar, minutes)
    }

    /// The greater tension of two bodies in each compartment.
    #[must_use]
    pub fn worse(&self, other: &Tissues) -> Tissues {
        Tissues {
            n2: std::array::from_fn(|i| self.n2[i].max(other.n2[i])),
            he: std::array::from_fn(|i| self.he[i].max(other.he[i])),
        }
    }

    /// Whether no compartment holds more than it tolerates at an ambient pressure, bar, with a gradient: the share, 0–1,
    /// of the way from ambient pressure to the tolerated tension.
    pub fn tolerate(&self, bar: f64, gradient: f64) -> bool {
        (0..COMPARTMENTS).all(|i| self.excess_bar(i, bar, gradient) <= ROUNDING_BAR)
    }

    /// By how much the compartment that is nearest to its limit, or the furthest beyond, is beyond it at an ambient
    /// pressure with a gradient, bar; negative within it.
    pub fn worst_bar(&self, bar: f64, gradient: f64) -> f64 {
        (0..COMPARTMENTS).map(|i| self.excess_bar(i, bar, gradient)).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The least ambient pressure that every compartment tolerates with a gradient, bar; may be below 0.
    pub fn ceiling_bar(&self, gradient: f64) -> f64 {
        let least = |i: usize| {
            let (inert, a, b) = self.coefficients(i);
            (inert - gradient * a) / (gradient / b + 1.0 - gradient)
        };
        (0..COMPARTMENTS).map(least).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Tension beyond the limit, bar.
    #[inline]
    fn excess_bar(&self, i: usize, bar: f64, gradient: f64) -> f64 {
        let (inert, a, b) = self.coefficients(i);
        inert - bar - gradient * (a + bar / b - bar)
    }

    /// Tension, and `a` and `b` of what makes it up.
    #[inline]
    fn coefficients(&self, i: usize) -> (f64, f64, f64) {
        let (n2, he) = (self.n2[i], self.he[i]);
        let inert = n2 + he;
        if he == 0.0 || inert <= 0.0 {
            return (inert, NITROGEN.a_bar[i], NITROGEN.b[i]);
        }
        let share = he / inert;
        let between = |n2: f64, he: f64| n2 + (he - n2) * share;
        (inert, between(NITROGEN.a_bar[i], HELIUM.a_bar[i]), between(NITROGEN.b[i], HELIUM.b[i]))
    }

    /// Whether every tension can be meant.
    pub fn is_sane(&self) -> bool {
        self.n2.iter().chain(&self.he).all(|bar| (0.0..1e6).contains(bar))
    }
}

/// Two ways of adding the same numbers up differ by less, bar.
pub(super) const ROUNDING_BAR: f64 = 1e-9;

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        /// Who has less of both gases everywhere may be wherever one with more may: what sparing runs of ways out rests on.
        #[test]
        fn less_is_never_held_where_more_is_not(
            n2 in 0.0..8.0_f64, he in 0.0..8.0_f64, less_n2 in 0.0..1.0_f64, less_he in 0.0..1.0_f64, bar in 0.4..11.0_f64,
            gradient in 0.05..1.0_f64, near in proptest::bool::ANY,
        ) {
            let tissues = |n2: f64, he: f64| Tissues { n2: [n2; COMPARTMENTS], he: [he; COMPARTMENTS] };
            let more = tissues(n2, he);
            // Most often near to where it is just tolerated, where a difference would tell.
            let bar = if near { more.ceiling_bar(gradient).max(0.4) } else { bar };
            let less = tissues(n2 * less_n2, he * less_he);
            proptest::prop_assert!(less.tolerate(bar, gradient) || !more.tolerate(bar, gradient), "{less:?} {more:?}");
        }
    }

    #[test]
    fn at_rest_nothing_moves() {
        let rest = Tissues::at_rest(1.0);
        let later = rest.after_surface(1.0, 500.0);
        assert!(rest.n2.iter().zip(&later.n2).all(|(a, b)| (a - b).abs() < 1e-14));
        assert!(rest.tolerate(1.0, 0.0) && rest.ceiling_bar(1.0) < 1.0);
    }

    #[test]
    fn the_ceiling_is_where_it_is_just_tolerated() {
        let deep = Tissues::at_rest(1.0).after(Mix { o2: 0.18, he: 0.45 }, 7.0, 7.0, 30.0);
        for gradient in [0.2, 0.5, 0.85, 1.0] {
            let ceiling = deep.ceiling_bar(gradient);
            assert!(deep.worst_bar(ceiling, gradient).abs() < 1e-12);
            assert!(deep.tolerate(ceiling, gradient) && !deep.tolerate(ceiling - 1e-6, gradient));
        }
    }

    #[test]
    fn new_at_altitude_the_body_knows_home() {
        assert_eq!(acclimatised_bar(1500.0, 0.845, 3.0, 0.0), surface_bar(0.0));
        assert_eq!(acclimatised_bar(1500.0, 0.845, 24.0, 0.0), 0.845);
        assert_eq!(acclimatised_bar(250.0, 0.98, 3.0, 0.0), 0.98);
    }
}
