//! Mixes: how deep they may be breathed, how narcotic and how dense they are.

use serde::Serialize;

use super::pressure::Water;

/// Nitrogen and argon in dry air, counted as one.
pub const AIR_INERT: f64 = 0.79;
/// Molar mass of oxygen, g/mol (CIAAW).
pub const OXYGEN_G_PER_MOL: f64 = 31.998;
/// Molar mass of nitrogen, g/mol (CIAAW).
pub const NITROGEN_G_PER_MOL: f64 = 28.014;
/// Molar mass of helium, g/mol (CIAAW).
pub const HELIUM_G_PER_MOL: f64 = 4.0026;
/// Molar gas constant, J/(mol·K), exact since the SI of 2019.
pub const GAS_CONSTANT: f64 = 8.314_462_618;
/// Density of breathed gas above which breathing gets hard, g/L (Anthony & Mitchell 2016, from memory).
pub const DENSITY_ADVISED_G_PER_L: f64 = 5.2;
/// Density of breathed gas not to exceed, g/L (Anthony & Mitchell 2016, from memory).
pub const DENSITY_GREATEST_G_PER_L: f64 = 6.2;

/// A mix by fractions; what is neither oxygen nor helium is nitrogen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mix {
    /// Oxygen, 0–1.
    pub o2: f64,
    /// Helium, 0–1.
    pub he: f64,
}

/// What counts as narcotic.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Narcotic {
    /// Nitrogen and oxygen alike.
    #[default]
    OxygenToo,
    /// Nitrogen alone.
    NitrogenOnly,
}

impl Mix {
    /// Air as divers count it.
    pub const AIR: Mix = Mix { o2: 0.21, he: 0.0 };
    /// Pure oxygen.
    pub const OXYGEN: Mix = Mix { o2: 1.0, he: 0.0 };

    /// A mix of oxygen and nitrogen.
    pub const fn nitrox(o2: f64) -> Mix {
        Mix { o2, he: 0.0 }
    }

    /// A mix from percent, as people write it.
    pub fn from_percent(o2_percent: f64, he_percent: f64) -> Mix {
        Mix { o2: o2_percent / 100.0, he: he_percent / 100.0 }
    }

    /// Nitrogen, 0–1.
    pub fn n2(&self) -> f64 {
        1.0 - self.o2 - self.he
    }

    /// Whether there can be such a gas: no fraction below 0, their sum no more than 1 (to rounding).
    pub fn is_possible(&self) -> bool {
        self.o2 >= 0.0 && self.he >= 0.0 && self.n2() >= -super::tolerance::FRACTION
    }

    /// Partial pressure of oxygen at an absolute pressure, bar.
    pub fn po2_bar(&self, pressure_bar: f64) -> f64 {
        self.o2 * pressure_bar
    }

    /// The greatest depth at which its oxygen stays within a limit in bar, metres; `None` without oxygen, or where the
    /// surface itself is too much. Not rounded.
    pub fn operating_depth_m(&self, po2_limit_bar: f64, water: &Water) -> Option<f64> {
        depth_of_po2(self.o2, po2_limit_bar, water).filter(|depth| *depth >= 0.0)
    }

    /// The least depth at which its oxygen reaches a floor in bar, metres; 0 where the surface will do, `None` without
    /// oxygen. Not rounded.
    pub fn least_depth_m(&self, po2_least_bar: f64, water: &Water) -> Option<f64> {
        depth_of_po2(self.o2, po2_least_bar, water).map(|depth| depth.max(0.0))
    }

    /// The depth at which air would have as much nitrogen, metres (equal-nitrogen definition, U.S. Navy Diving Manual
    /// chapter 10). Helium counts as nitrogen does: for trimix this is the depth of equal inert gas. May be negative.
    pub fn equivalent_air_depth_m(&self, depth_m: f64, water: &Water) -> f64 {
        water.depth_m((1.0 - self.o2) * water.pressure_bar(depth_m) / AIR_INERT)
    }

    /// The depth at which air would be as narcotic, metres. May be negative.
    pub fn equivalent_narcotic_depth_m(&self, depth_m: f64, water: &Water, counts: Narcotic) -> f64 {
        let share = match counts {
            Narcotic::OxygenToo => 1.0 - self.he,
            Narcotic::NitrogenOnly => self.n2() / AIR_INERT,
        };
        water.depth_m(share * water.pressure_bar(depth_m))
    }

    /// Density of the dry gas at an absolute pressure and 0 °C, g/L: `Σ x·M·P/(R·T)`. The 0 °C reference is the one the
    /// limits of Anthony & Mitchell were stated for (air reaches 5.2 g/L near 31 m and 6.2 g/L near 39 m).
    pub fn density_g_per_l(&self, pressure_bar: f64) -> f64 {
        let grams_per_mol = self.o2 * OXYGEN_G_PER_MOL + self.n2() * NITROGEN_G_PER_MOL + self.he * HELIUM_G_PER_MOL;
        grams_per_mol * pressure_bar * 100.0 / (GAS_CONSTANT * 273.15)
    }

    /// The absolute pressure at which its density reaches a limit in g/L, bar; `None` for no gas at all.
    pub fn pressure_of_density_bar(&self, g_per_l: f64) -> Option<f64> {
        let at_one_bar = self.density_g_per_l(1.0);
        (at_one_bar > 0.0).then(|| g_per_l / at_one_bar)
    }
}

/// The richest oxygen fraction whose partial pressure at a depth stays within a limit, at most 1; `None` where the
/// pressure there is not above 0.
pub fn richest_o2(depth_m: f64, po2_limit_bar: f64, water: &Water) -> Option<f64> {
    let pressure = water.pressure_bar(depth_m);
    (pressure > 0.0).then(|| (po2_limit_bar / pressure).clamp(0.0, 1.0))
}

/// The least helium with which a mix is no more narcotic at a depth than air at another, 0–1.
pub fn least_helium(depth_m: f64, narcotic_depth_m: f64, water: &Water) -> f64 {
    (1.0 - water.pressure_bar(narcotic_depth_m) / water.pressure_bar(depth_m)).clamp(0.0, 1.0)
}

fn depth_of_po2(o2: f64, po2_bar: f64, water: &Water) -> Option<f64> {
    let depth = (o2 > 0.0).then(|| water.depth_m(po2_bar / o2))?;
    depth.is_finite().then_some(depth)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn operating_depth_of_a_common_mix() {
        // 32 % at 1.4 bar under 1 bar of surface pressure is 33.75 m (common practice, no source: (1.4/0.32 − 1)·10).
        let depth = Mix::nitrox(0.32).operating_depth_m(1.4, &Water { surface_bar: 1.0, bar_per_m: 0.1 });
        assert!((depth.unwrap_or(0.0) - 33.75).abs() < 1e-9);
    }

    #[test]
    fn a_mix_too_rich_for_the_surface_has_no_operating_depth() {
        let water = Water::default();
        assert_eq!(Mix::OXYGEN.operating_depth_m(0.9, &water), None);
        assert_eq!(Mix { o2: 0.0, he: 0.5 }.operating_depth_m(1.4, &water), None);
        assert_eq!(Mix { o2: f64::NAN, he: 0.0 }.operating_depth_m(1.4, &water), None);
    }

    #[test]
    fn a_lean_mix_has_a_least_depth() {
        let water = Water { surface_bar: 1.0, bar_per_m: 0.1 };
        let depth = Mix { o2: 0.1, he: 0.7 }.least_depth_m(0.18, &water).unwrap_or(f64::NAN);
        assert!((depth - 8.0).abs() < 1e-9);
        assert_eq!(Mix::AIR.least_depth_m(0.18, &water), Some(0.0));
    }

    #[test]
    fn impossible_mixes_are_told() {
        assert!(Mix { o2: 0.21, he: 0.79 }.is_possible());
        assert!(!Mix { o2: 0.5, he: 0.6 }.is_possible());
        assert!(!Mix { o2: -0.1, he: 0.6 }.is_possible());
        assert!(!Mix { o2: f64::NAN, he: 0.0 }.is_possible());
    }

    #[test]
    fn helium_takes_the_edge_off() {
        let water = Water::default();
        let he = least_helium(60.0, 30.0, &water);
        let mix = Mix { o2: 0.18, he };
        assert!((mix.equivalent_narcotic_depth_m(60.0, &water, Narcotic::OxygenToo) - 30.0).abs() < 1e-9);
    }
}
