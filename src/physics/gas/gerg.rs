//! GERG-2008 for oxygen, nitrogen, helium and argon.
//!
//! O. Kunz, W. Wagner, "The GERG-2008 wide-range equation of state for natural gases and other mixtures: an expansion of
//! GERG-2004", J. Chem. Eng. Data 57 (2012) 3032–3091. The coefficients are the published ones, as NIST's public-domain
//! AGA8 code carries them. No pair of these four gases has a departure function, so the reduced residual Helmholtz
//! energy is the sum of the pure ones at the mixture's reduced density and temperature.

use crate::physics::Mix;

/// The molar gas constant that the equation was fitted with, bar·L/(mol·K).
const GAS_CONSTANT: f64 = 8.314_472e-2;

/// A gas by mole fractions of its four components; they sum to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Composition {
    /// Oxygen.
    pub o2: f64,
    /// Nitrogen.
    pub n2: f64,
    /// Helium.
    pub he: f64,
    /// Argon.
    pub ar: f64,
}

impl From<Mix> for Composition {
    fn from(mix: Mix) -> Composition {
        let n2 = mix.n2();
        // What is left of a sum in binary after taking 1 away is no gas.
        Composition { o2: mix.o2, n2: if n2.abs() < 1e-9 { 0.0 } else { n2 }, he: mix.he, ar: 0.0 }
    }
}

/// One term of a pure component's residual Helmholtz energy: `n·δ^d·τ^t·exp(−δ^c)`, without the exponential where `c`
/// is 0.
struct Term {
    n: f64,
    t: f64,
    d: u8,
    c: u8,
}

const fn term(n: f64, t: f64, d: u8, c: u8) -> Term {
    Term { n, t, d, c }
}

struct Component {
    critical_mol_per_l: f64,
    critical_k: f64,
    terms: &'static [Term],
}

/// The order everywhere below.
const COMPONENTS: [Component; 4] = [
    Component { critical_mol_per_l: 13.63, critical_k: 154.595, terms: OXYGEN },
    Component { critical_mol_per_l: 11.1839, critical_k: 126.192, terms: NITROGEN },
    Component { critical_mol_per_l: 17.399, critical_k: 5.1953, terms: HELIUM },
    Component { critical_mol_per_l: 13.407_429_659, critical_k: 150.687, terms: ARGON },
];

/// A pair's parameters in the reducing functions: `(i, j, βv, γv, βT, γT)`. Pairs that were not fitted have 1 throughout.
const PAIRS: [(usize, usize, f64, f64, f64, f64); 6] = [
    (1, 0, 0.999_521_770, 0.997_082_328, 0.997_190_589, 0.995_157_044),
    (1, 2, 0.969_501_055, 0.932_629_867, 0.692_868_765, 1.471_831_580),
    (1, 3, 1.004_166_412, 1.002_212_182, 0.999_069_843, 0.990_034_831),
    (0, 3, 0.999_746_847, 0.993_907_223, 1.000_023_103, 0.990_430_423),
    (0, 2, 1.0, 1.0, 1.0, 1.0),
    (2, 3, 1.0, 1.0, 1.0, 1.0),
];

const OXYGEN: &[Term] = &[
    term(0.888_782_863_697_01, 0.25, 1, 0),
    term(-2.487_943_331_214_8, 1.125, 1, 0),
    term(0.597_501_907_758_86, 1.5, 1, 0),
    term(0.965_018_170_618_81e-2, 1.375, 2, 0),
    term(0.071_970_428_712_770, 0.25, 3, 0),
    term(0.223_374_430_001_95e-3, 0.875, 7, 0),
    term(0.185_586_863_914_74, 0.625, 2, 1),
    term(-0.038_129_368_035_760, 1.75, 5, 1),
    term(-0.153_522_453_830_06, 3.625, 1, 2),
    term(-0.026_726_814_910_919, 3.625, 4, 2),
    term(-0.025_675_298_677_127, 14.5, 3, 3),
    term(0.957_143_021_236_68e-2, 12.0, 4, 3),
];

const NITROGEN: &[Term] = &[
    term(0.598_897_118_012_01, 0.125, 1, 0),
    term(-1.694_155_748_073_1, 1.125, 1, 0),
    term(0.245_797_361_917_18, 0.375, 2, 0),
    term(-0.237_224_567_551_75, 1.125, 2, 0),
    term(0.017_954_918_715_141, 0.625, 4, 0),
    term(0.014_592_875_720_215, 1.5, 4, 0),
    term(0.100_080_659_362_06, 0.625, 1, 1),
    term(0.731_571_153_855_32, 2.625, 1, 1),
    term(-0.883_722_723_363_66, 2.75, 1, 1),
    term(0.318_876_602_467_08, 2.125, 2, 1),
    term(0.207_664_917_287_99, 2.0, 3, 1),
    term(-0.019_379_315_454_158, 1.75, 6, 1),
    term(-0.169_366_415_549_83, 4.5, 2, 2),
    term(0.135_468_460_417_01, 4.75, 3, 2),
    term(-0.033_066_712_095_307, 5.0, 3, 2),
    term(-0.060_690_817_018_557, 4.0, 4, 2),
    term(0.012_797_548_292_871, 4.5, 4, 2),
    term(0.587_436_641_072_99e-2, 7.5, 2, 3),
    term(-0.018_451_951_971_969, 14.0, 3, 3),
    term(0.472_266_220_424_72e-2, 11.5, 4, 3),
    term(-0.520_240_796_805_99e-2, 26.0, 5, 6),
    term(0.043_563_505_956_635, 28.0, 6, 6),
    term(-0.036_251_690_750_939, 30.0, 6, 6),
    term(-0.289_740_268_665_43e-2, 16.0, 7, 6),
];

const HELIUM: &[Term] = &[
    term(-0.455_790_240_067_37, 0.0, 1, 0),
    term(1.251_639_075_492_5, 0.125, 1, 0),
    term(-1.543_823_165_062_1, 0.75, 1, 0),
    term(0.020_467_489_707_221, 1.0, 4, 0),
    term(-0.344_762_123_807_81, 0.75, 1, 1),
    term(-0.020_858_459_512_787, 2.625, 3, 1),
    term(0.016_227_414_711_778, 0.125, 5, 1),
    term(-0.057_471_818_200_892, 1.25, 5, 1),
    term(0.019_462_416_430_715, 2.0, 5, 1),
    term(-0.033_295_680_123_020, 1.0, 2, 2),
    term(-0.010_863_577_372_367, 4.5, 1, 3),
    term(-0.022_173_365_245_954, 5.0, 2, 3),
];

const ARGON: &[Term] = &[
    term(0.850_957_148_039_69, 0.25, 1, 0),
    term(-2.400_322_294_348_0, 1.125, 1, 0),
    term(0.541_278_414_764_66, 1.5, 1, 0),
    term(0.016_919_770_692_538, 1.375, 2, 0),
    term(0.068_825_965_019_035, 0.25, 3, 0),
    term(0.214_280_328_153_38e-3, 0.875, 7, 0),
    term(0.174_298_953_219_92, 0.625, 2, 1),
    term(-0.033_654_495_604_194, 1.75, 5, 1),
    term(-0.135_267_998_576_91, 3.625, 1, 2),
    term(-0.016_387_350_791_552, 3.625, 4, 2),
    term(-0.024_987_666_851_475, 14.5, 3, 3),
    term(0.887_692_048_157_09e-2, 12.0, 4, 3),
];

/// The density exponents of the exponentials, in the order they are kept; 0 stands for none.
const GROUPS: [u8; 5] = [0, 1, 2, 3, 6];
/// The greatest power of the reduced density.
const GREATEST_POWER: usize = 7;
/// Absolute pressures beyond this are refused, bar.
const GREATEST_BAR: f64 = 1000.0;

/// A gas at one temperature. What depends on temperature and composition is folded into one polynomial a group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Isotherm {
    /// `R·T`, bar·L/mol.
    rt: f64,
    /// The reducing density, mol/L.
    reducing: f64,
    /// `Σ x·n·τ^t` by group and power of the reduced density.
    folded: [[f64; GREATEST_POWER]; GROUPS.len()],
    /// Which groups hold anything.
    used: [bool; GROUPS.len()],
}

impl Isotherm {
    /// A gas at a temperature in kelvin; `None` if the fractions are negative or don't sum to 1, or the temperature lies
    /// outside 213.15…393.15 K, where all four gases and their mixtures are far above condensing.
    pub fn new(gas: Composition, kelvin: f64) -> Option<Isotherm> {
        let x = [gas.o2, gas.n2, gas.he, gas.ar];
        let sum: f64 = x.iter().sum();
        let possible = x.iter().all(|x| *x >= 0.0) && (sum - 1.0).abs() < 1e-6;
        if !possible || !(213.15..=393.15).contains(&kelvin) {
            return None;
        }
        let (mut litres_per_mol, mut reducing_k) = (0.0, 0.0);
        for (x, component) in x.iter().zip(&COMPONENTS) {
            litres_per_mol += x * x / component.critical_mol_per_l;
            reducing_k += x * x * component.critical_k;
        }
        for &(i, j, beta_v, gamma_v, beta_t, gamma_t) in &PAIRS {
            let (xi, xj) = (x[i], x[j]);
            if xi <= 0.0 || xj <= 0.0 {
                continue;
            }
            let (a, b) = (&COMPONENTS[i], &COMPONENTS[j]);
            let roots = libm::cbrt(1.0 / a.critical_mol_per_l) + libm::cbrt(1.0 / b.critical_mol_per_l);
            let weight = |beta: f64| 2.0 * xi * xj * (xi + xj) / (beta * beta * xi + xj);
            litres_per_mol += weight(beta_v) * beta_v * gamma_v * roots * roots * roots / 8.0;
            reducing_k += weight(beta_t) * beta_t * gamma_t * libm::sqrt(a.critical_k * b.critical_k);
        }
        let ln_tau = libm::log(reducing_k / kelvin);
        let mut folded = [[0.0; GREATEST_POWER]; GROUPS.len()];
        let mut used = [false; GROUPS.len()];
        for (x, component) in x.iter().zip(&COMPONENTS).filter(|(x, _)| **x > 0.0) {
            for term in component.terms {
                let group = GROUPS.iter().position(|c| *c == term.c).unwrap_or(0);
                folded[group][usize::from(term.d) - 1] += x * term.n * libm::exp(term.t * ln_tau);
                used[group] = true;
            }
        }
        Some(Isotherm { rt: GAS_CONSTANT * kelvin, reducing: 1.0 / litres_per_mol, folded, used })
    }

    /// Pressure at a density in mol/L, and how it grows with density: bar, bar·L/mol.
    fn pressure_and_slope(&self, mol_per_l: f64) -> (f64, f64) {
        let delta = mol_per_l / self.reducing;
        // δ·∂α/∂δ and δ²·∂²α/∂δ² of the residual part.
        let (mut first, mut second) = (0.0, 0.0);
        for ((coefficients, c), used) in self.folded.iter().zip(GROUPS).zip(self.used) {
            if !used {
                continue;
            }
            let power = (0..c).fold(1.0, |power, _| power * delta);
            let decay = if c == 0 { 1.0 } else { libm::exp(-power) };
            let c = f64::from(c);
            let (mut rising, mut group_first, mut group_second) = (1.0, 0.0, 0.0);
            for (d, n) in (1..).zip(coefficients) {
                rising *= delta;
                let d = f64::from(d);
                let slope = d - c * power;
                group_first += n * rising * slope;
                group_second += n * rising * (slope * (slope - 1.0) - c * c * power);
            }
            first += decay * group_first;
            second += decay * group_second;
        }
        (self.rt * mol_per_l * (1.0 + first), self.rt * (1.0 + 2.0 * first + second))
    }

    /// Absolute pressure at a density in mol/L, bar; `None` for a negative density or beyond 1000 bar.
    pub fn pressure_bar(&self, mol_per_l: f64) -> Option<f64> {
        if !(0.0..=60.0).contains(&mol_per_l) {
            return None;
        }
        let (bar, _) = self.pressure_and_slope(mol_per_l);
        (bar <= GREATEST_BAR).then_some(bar)
    }

    /// Density at an absolute pressure in bar, mol/L, to the last digits; `None` outside 0…1000 bar.
    pub fn mol_per_l(&self, absolute_bar: f64) -> Option<f64> {
        if !(0.0..=GREATEST_BAR).contains(&absolute_bar) {
            return None;
        }
        // Above the critical temperature pressure rises with density throughout, so Newton from the ideal gas, its
        // steps held to a factor of two, can't stray.
        let mut density = absolute_bar / self.rt;
        for _ in 0..40 {
            let (bar, slope) = self.pressure_and_slope(density);
            let next = (density - (bar - absolute_bar) / slope).clamp(0.5 * density, 2.0 * density);
            let settled = (next - density).abs() <= 1e-14 * density;
            density = next;
            if settled {
                break;
            }
        }
        density.is_finite().then_some(density)
    }

    /// Compressibility `p/(ρ·R·T)` at an absolute pressure; 1 at 0 bar, `None` outside 0…1000 bar.
    pub fn compressibility(&self, absolute_bar: f64) -> Option<f64> {
        let density = self.mol_per_l(absolute_bar)?;
        Some(if density > 0.0 { absolute_bar / (density * self.rt) } else { 1.0 })
    }
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn slope_is_the_derivative() {
        let gas = Isotherm::new(Composition { o2: 0.2, n2: 0.3, he: 0.4, ar: 0.1 }, 280.0);
        let Some(gas) = gas else { panic!("a possible gas") };
        for density in [0.01, 1.0, 5.0, 12.0] {
            let h = 1e-5 * density;
            let measured = (gas.pressure_and_slope(density + h).0 - gas.pressure_and_slope(density - h).0) / (2.0 * h);
            let slope = gas.pressure_and_slope(density).1;
            assert!((measured / slope - 1.0).abs() < 1e-7, "{density}: {measured} {slope}");
        }
    }

    #[test]
    fn pressure_rises_with_density_all_the_way() {
        for (o2, he, ar) in [(1.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.2, 0.5, 0.1)] {
            let composition = Composition { o2, n2: 1.0 - o2 - he - ar, he, ar };
            for kelvin in [213.15, 253.15, 293.15, 393.15] {
                let Some(gas) = Isotherm::new(composition, kelvin) else { panic!("a possible gas") };
                let mut last = -1.0;
                for bar in 0..=1000 {
                    let density = gas.mol_per_l(f64::from(bar)).unwrap_or(f64::NAN);
                    assert!(density > last, "{composition:?} {kelvin} {bar}");
                    assert!((gas.pressure_and_slope(density).0 - f64::from(bar)).abs() < 1e-9);
                    last = density;
                }
            }
        }
    }

    #[test]
    fn reducing_parameters_are_the_published_ones() {
        // Half and half, against βv²·…, as NIST's code tabulates them: nitrogen and helium.
        let gas = Isotherm::new(Composition { o2: 0.0, n2: 0.5, he: 0.5, ar: 0.0 }, 300.0);
        let expected = 0.25 * 0.089_414_247_266_159_39
            + 0.25 * 0.057_474_567_503_879_53
            + 0.5 * 0.065_347_633_143_440_51 / (0.5 * 0.939_932_295_646_112_9 + 0.5);
        assert!(gas.is_some_and(|gas| (gas.reducing * expected - 1.0).abs() < 1e-9));
    }
}
