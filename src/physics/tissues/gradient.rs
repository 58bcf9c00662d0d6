//! Gradient factors: how much of what the tissues tolerate may be used, and how that goes with depth.

use serde::Serialize;

use super::{COMPARTMENTS, Tissues};
use crate::physics::Water;

/// Gradient factors, shares of the way from ambient pressure to the tolerated tension.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Gradients {
    /// At the first stop, 0–1.
    pub low: f64,
    /// At the surface, and on a way up without stops, 0–1.
    pub high: f64,
}

impl Gradients {
    /// From percent, as people write them.
    pub fn from_percent(low: f64, high: f64) -> Gradients {
        Gradients { low: low / 100.0, high: high / 100.0 }
    }

    /// Whether they can be meant: above 0, no more than 1, the low one no more than the high one.
    pub fn is_sane(&self) -> bool {
        self.low > 0.0 && self.low <= self.high && self.high <= 1.0
    }
}

/// The gradient over depth: the high one at the surface, the low one at the first stop, straight between and the low one
/// below; without a stop the high one throughout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// The factors.
    pub gradients: Gradients,
    /// The first stop, metres; 0 where there is none.
    pub first_stop_m: f64,
}

impl Line {
    /// The gradient at a depth.
    pub fn at(&self, depth_m: f64) -> f64 {
        let Gradients { low, high } = self.gradients;
        if self.first_stop_m <= 0.0 {
            return high;
        }
        high + (low - high) * (depth_m / self.first_stop_m).clamp(0.0, 1.0)
    }

    /// Whether a body may be at a depth.
    pub fn allows(&self, tissues: &Tissues, depth_m: f64, water: &Water) -> bool {
        tissues.tolerate(water.pressure_bar(depth_m), self.at(depth_m))
    }

    /// The ceiling: the least depth, metres, at and below which a body may be; 0 where it may surface.
    pub fn ceiling_m(&self, tissues: &Tissues, water: &Water) -> f64 {
        (0..COMPARTMENTS).map(|i| self.ceiling_of_m(tissues, i, water)).fold(0.0, f64::max)
    }

    /// The ceiling of one compartment. Its excess over depth is `inert − P − g·(a + P/b − P)`: a parabola down to the
    /// first stop, where `g` is straight, and a line below.
    fn ceiling_of_m(&self, tissues: &Tissues, i: usize, water: &Water) -> f64 {
        let (inert, a, b) = tissues.coefficients(i);
        let Gradients { low, high } = self.gradients;
        let Water { surface_bar, bar_per_m } = *water;
        let deepest = |gradient: f64| water.depth_m((inert - gradient * a) / (gradient / b + 1.0 - gradient));
        if self.first_stop_m <= 0.0 {
            return deepest(high);
        }
        let below = deepest(low);
        if below >= self.first_stop_m {
            return below;
        }
        // With d the depth, g = high + slope·d and P = Ps + r·d.
        let slope = (low - high) / self.first_stop_m;
        let wide = 1.0 / b - 1.0;
        let at_surface = a + wide * surface_bar;
        let c0 = inert - surface_bar - high * at_surface;
        let c1 = -bar_per_m - high * wide * bar_per_m - slope * at_surface;
        let c2 = -slope * wide * bar_per_m;
        // It is allowed at the first stop; the ceiling is the deepest place above where it is not any more.
        let square = c1 * c1 - 4.0 * c2 * c0;
        if square < 0.0 {
            return 0.0;
        }
        let sum = -0.5 * (c1 + libm::copysign(libm::sqrt(square), c1));
        [sum / c2, c0 / sum].into_iter().filter(|depth| (0.0..=self.first_stop_m).contains(depth)).fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::Mix;

    #[test]
    fn the_ceiling_is_the_edge_of_what_is_allowed() {
        let water = Water { surface_bar: 1.0, bar_per_m: 0.1 };
        for minutes in [2.0, 10.0, 25.0, 60.0] {
            let body = Tissues::at_rest(1.0).after(Mix { o2: 0.18, he: 0.4 }, 6.5, 6.5, minutes);
            for first_stop_m in [0.0, 6.0, 15.0, 30.0] {
                let line = Line { gradients: Gradients { low: 0.3, high: 0.85 }, first_stop_m };
                let ceiling = line.ceiling_m(&body, &water);
                assert!(line.allows(&body, ceiling + 1e-6, &water), "{minutes} {first_stop_m}: {ceiling}");
                assert!(ceiling == 0.0 || !line.allows(&body, ceiling - 1e-4, &water), "{minutes} {first_stop_m}");
                // Below it nothing forbids.
                assert!((0..400).all(|i| line.allows(&body, ceiling + 1e-6 + 0.1 * f64::from(i), &water)));
            }
        }
    }
}
