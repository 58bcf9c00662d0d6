//! How compartments follow what is inspired: the solution of `dp/dt = k·(g − p)` for the courses `g` of inspired inert
//! gas that a dive has.

use std::cell::RefCell;

use super::{COMPARTMENTS, Each, Gas, HELIUM, NITROGEN, Tissues, alveolar_bar};
use crate::physics::Mix;

/// Of a compartment's tension after a time: the share kept, and what an inspired pressure adds whose course is 1, s, s²
/// and s³ with `s` the elapsed share of the time.
#[derive(Debug, Clone, Copy)]
struct Weights {
    kept: f64,
    powers: [f64; 4],
}

/// `ln 2`, as minutes of half-time make rates of it.
const LN_2: f64 = std::f64::consts::LN_2;

/// 1/n.
const RECIPROCAL: [f64; 19] = {
    let mut table = [0.0; 19];
    let mut n = 1;
    while n < 19 {
        table[n] = 1.0 / n as f64;
        n += 1;
    }
    table
};

impl Weights {
    /// For all compartments at once, which the processor takes two or four at a time, for the exponents `x = k·t`:
    /// `Iₙ = x·∫₀¹ sⁿ·e^(−x(1−s)) ds`, which obey `Iₙ = 1 − (n/x)·Iₙ₋₁`. Upward that loses digits for small `x`; there the
    /// last is a series and the others follow downward.
    fn of_each(exponents: &Each) -> [Weights; COMPARTMENTS] {
        // Iₙ = x·Σ (−x)ʲ·n!/(n+j+1)!, n = 3; what is left out is below 1e-15.
        let near = exponents.map(|x| x.min(1.0));
        let mut sums = [1.0; COMPARTMENTS];
        for j in (1..=14).rev() {
            for (sum, x) in sums.iter_mut().zip(&near) {
                *sum = 1.0 - x * RECIPROCAL[4 + j] * *sum;
            }
        }
        std::array::from_fn(|i| match exponents[i] {
            x if x < 1.0 => Weights::downward(x, sums[i]),
            x => Weights::upward(x),
        })
    }

    #[inline]
    fn downward(x: f64, sum: f64) -> Weights {
        let third = 0.25 * x * sum;
        let second = x * (1.0 - third) / 3.0;
        let first = 0.5 * x * (1.0 - second);
        let zeroth = x * (1.0 - first);
        Weights { kept: 1.0 - zeroth, powers: [zeroth, first, second, third] }
    }

    #[inline]
    fn upward(x: f64) -> Weights {
        let zeroth = -libm::expm1(-x);
        let first = 1.0 - zeroth / x;
        let second = 1.0 - 2.0 / x * first;
        Weights { kept: libm::exp(-x), powers: [zeroth, first, second, 1.0 - 3.0 / x * second] }
    }
}

/// What one gas does to the compartments over a fixed time while its inspired pressure goes evenly.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ramp {
    kept: Each,
    slope: Each,
}

/// How many times are kept in mind: a power of two.
const KEPT: usize = 64;

thread_local! {
    /// What nitrogen does over times that were asked for before: the ways up of one dive are made of the same few again and
    /// again, and working one out costs more than all that is done with it.
    static RAMPS: RefCell<[Option<(u64, Ramp)>; KEPT]> = const { RefCell::new([None; KEPT]) };
}

/// As [`Ramp::over`] of nitrogen, worked out once for times that come again.
fn nitrogen_over(minutes: f64) -> Ramp {
    let bits = minutes.to_bits();
    // Fibonacci hashing: the top bits of a product with the golden ratio.
    let place = (bits.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 58) as usize % KEPT;
    RAMPS.with_borrow_mut(|ramps| match ramps[place] {
        Some((kept, ramp)) if kept == bits => ramp,
        _ => ramps[place].insert((bits, Ramp::over(&NITROGEN, minutes))).1,
    })
}

impl Ramp {
    fn over(gas: &Gas, minutes: f64) -> Ramp {
        let mut ramp = Ramp { kept: [0.0; COMPARTMENTS], slope: [0.0; COMPARTMENTS] };
        let minutes = minutes.max(0.0);
        for (i, half_min) in gas.half_min.iter().enumerate() {
            let x = LN_2 / half_min * minutes;
            let zeroth = -libm::expm1(-x);
            ramp.kept[i] = 1.0 - zeroth;
            // What `1 − zeroth/x` loses of its digits is below 1e-13 from here on.
            ramp.slope[i] = if x > 1e-3 { 1.0 - zeroth / x } else { x * (0.5 - x * (1.0 / 6.0 - x / 24.0)) };
        }
        ramp
    }

    #[inline]
    fn of(&self, tension: &Each, from: f64, change: f64) -> Each {
        std::array::from_fn(|i| from + (tension[i] - from) * self.kept[i] + change * self.slope[i])
    }
}

/// What a time does to a body that breathes one mix at a pressure that goes evenly: worked out once, applied often.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uptake {
    n2: Ramp,
    he: Ramp,
}

impl Uptake {
    /// Over so many minutes; a time below 0 counts as none.
    pub fn over(minutes: f64) -> Uptake {
        Uptake { n2: Ramp::over(&NITROGEN, minutes), he: Ramp::over(&HELIUM, minutes) }
    }

    /// The tissues after it, on a mix, while ambient pressure goes evenly from one value to another, bar.
    #[must_use]
    pub fn of(&self, tissues: &Tissues, mix: Mix, from_bar: f64, to_bar: f64) -> Tissues {
        let (n2, he) = alveolar_bar(mix, from_bar);
        let (n2_then, he_then) = alveolar_bar(mix, to_bar);
        Tissues { n2: self.n2.of(&tissues.n2, n2, n2_then - n2), he: self.he.of(&tissues.he, he, he_then - he) }
    }
}

/// As [`Tissues::after`] where there is no helium at all: half the work.
pub(super) fn nitrogen_alone(tissues: &Tissues, mix: Mix, from_bar: f64, to_bar: f64, minutes: f64) -> Tissues {
    let ((n2, _), (n2_then, _)) = (alveolar_bar(mix, from_bar), alveolar_bar(mix, to_bar));
    Tissues { n2: nitrogen_over(minutes).of(&tissues.n2, n2, n2_then - n2), he: [0.0; COMPARTMENTS] }
}

/// The course of what is inspired of one gas over a time, bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// `settled + (start − settled)·e^(−rate·t)`, the rate a minute: a full loop at one depth.
    Settling {
        /// At the start.
        start: f64,
        /// In the end.
        settled: f64,
        /// How fast.
        per_min: f64,
    },
    /// Through four values, at the start, after a quarter and three quarters of the time, and at its end: the cubic
    /// through them. It is off the true course by no more than `h⁴/1536` of its greatest fourth derivative, `h` being the
    /// time; the tissues are never further off than the course.
    Through([f64; 4]),
}

impl Curve {
    /// Whether none is inspired all the while.
    fn is_none(&self) -> bool {
        match *self {
            Curve::Settling { start, settled, .. } => start == 0.0 && settled == 0.0,
            Curve::Through(values) => values == [0.0; 4],
        }
    }

    fn breathed(&self, gas: &Gas, tension: &Each, minutes: f64) -> Each {
        match *self {
            Curve::Settling { start, settled, per_min } => std::array::from_fn(|i| {
                let k = LN_2 / gas.half_min[i];
                let kept = libm::exp(-k * minutes);
                // k·∫ e^(−rate·t)·e^(−k(T−t)) dt, written so that rate = k is no special place.
                let apart = (k - per_min) * minutes;
                let mean = if apart == 0.0 { 1.0 } else { -libm::expm1(-apart) / apart };
                let lag = k * minutes * libm::exp(-per_min * minutes) * mean;
                settled + (tension[i] - settled) * kept + (start - settled) * lag
            }),
            Curve::Through([y0, y1, y2, y3]) => {
                // Newton's differences on 0, ¼, ¾, 1, gathered by powers.
                let (d01, d12, d23) = (4.0 * (y1 - y0), 2.0 * (y2 - y1), 4.0 * (y3 - y2));
                let (d012, d123) = ((d12 - d01) / 0.75, (d23 - d12) / 0.75);
                let d = d123 - d012;
                let c = [y0, d01 - 0.25 * d012 + 0.1875 * d, d012 - d, d];
                let minutes = minutes.max(0.0);
                let weights = Weights::of_each(&std::array::from_fn(|i| LN_2 / gas.half_min[i] * minutes));
                std::array::from_fn(|i| {
                    let w = weights[i];
                    let taken: f64 = w.powers.iter().zip(c).map(|(w, c)| w * c).sum();
                    tension[i] * w.kept + taken
                })
            }
        }
    }
}

impl Tissues {
    /// After minutes while what is inspired of nitrogen and helium goes along two curves.
    #[must_use]
    pub fn along(&self, nitrogen: &Curve, helium: &Curve, minutes: f64) -> Tissues {
        let n2 = nitrogen.breathed(&NITROGEN, &self.n2, minutes);
        // Where there is no helium at all it is half the work.
        let none = helium.is_none() && self.he == [0.0; COMPARTMENTS];
        let he = if none { self.he } else { helium.breathed(&HELIUM, &self.he, minutes) };
        Tissues { n2, he }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_meet_where_the_ways_of_working_them_out_do() {
        let of = |x: f64| Weights::of_each(&[x; COMPARTMENTS])[0];
        let (below, above) = (of(1.0 - 1e-12), of(1.0 + 1e-12));
        assert!((below.kept - above.kept).abs() < 1e-11);
        for (a, b) in below.powers.iter().zip(above.powers) {
            assert!((a - b).abs() < 1e-11, "{a} {b}");
        }
        let none = of(0.0);
        assert_eq!((none.kept, none.powers), (1.0, [0.0; 4]));
    }

    #[test]
    fn a_straight_line_is_a_cubic_too() {
        let mix = Mix { o2: 0.2, he: 0.4 };
        let rest = Tissues::at_rest(1.0).after(mix, 4.0, 4.0, 9.0);
        let line = |from: f64, to: f64| Curve::Through([0.0, 0.25, 0.75, 1.0].map(|s| from + (to - from) * s));
        let (n2, he) = (alveolar_bar(mix, 4.0), alveolar_bar(mix, 2.0));
        let cubic = rest.along(&line(n2.0, he.0), &line(n2.1, he.1), 3.0);
        let ramp = rest.after(mix, 4.0, 2.0, 3.0);
        for (a, b) in cubic.inert_bar().iter().zip(ramp.inert_bar()) {
            assert!((a - b).abs() < 1e-13, "{a} {b}");
        }
    }

    #[test]
    fn settling_and_cubics_agree() {
        // Pieces of a hundredth of a minute against the closed form, the rate equal to a compartment's own among them.
        for per_min in [0.0, 0.3, LN_2 / 12.5, 4.0] {
            let at = |t: f64| 2.0 + 1.5 * libm::exp(-per_min * t);
            let still = Curve::Settling { start: 0.5, settled: 0.5, per_min: 1.0 };
            let rest = Tissues::at_rest(1.0);
            let exact = rest.along(&Curve::Settling { start: 3.5, settled: 2.0, per_min }, &still, 5.0);
            let mut stepped = rest;
            for i in 0..500 {
                let t = f64::from(i) * 0.01;
                let curve = Curve::Through([0.0, 0.25, 0.75, 1.0].map(|s| at(t + 0.01 * s)));
                stepped = stepped.along(&curve, &still, 0.01);
            }
            for (a, b) in exact.inert_bar().iter().zip(stepped.inert_bar()) {
                assert!((a - b).abs() < 1e-10, "{per_min}: {a} {b}");
            }
        }
    }
}
