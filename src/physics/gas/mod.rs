//! Real gas in a cylinder: free litres from a gauge reading, and back.

mod gerg;

pub use gerg::{Composition, Isotherm};

use super::Mix;
use super::litres::{FREE_BAR, FREE_C, ZERO_C};

/// Gas compressed, in free litres, if it were ideal: what `size × pressure` says.
pub fn ideal_free_l(size_l: f64, gauge_bar: f64) -> f64 {
    size_l * gauge_bar / FREE_BAR
}

/// One mix at one temperature, ready to turn pressures into free litres and free litres into pressures.
///
/// A free litre is a litre of that gas at 1 bar and 20 °C (where air is 0.04 % from ideal). Making one costs a couple of
/// microseconds, asking it a fraction of one: keep it while mix and temperature stay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stored {
    gas: Isotherm,
    /// Moles in a free litre.
    mol_per_free_l: f64,
}

impl Stored {
    /// A mix at a temperature in °C; `None` for an impossible mix, or outside −60…120 °C.
    pub fn new(mix: Mix, temperature_c: f64) -> Option<Stored> {
        Stored::of(Composition::from(mix), temperature_c)
    }

    /// The same for a composition that may hold argon.
    pub fn of(composition: Composition, temperature_c: f64) -> Option<Stored> {
        let reference = Isotherm::new(composition, ZERO_C + FREE_C)?;
        let gas = Isotherm::new(composition, ZERO_C + temperature_c)?;
        Some(Stored { gas, mol_per_free_l: reference.mol_per_l(FREE_BAR)? })
    }

    /// Free litres that a litre of cylinder holds at an absolute pressure; `None` outside 0…1000 bar.
    pub fn free_per_l(&self, absolute_bar: f64) -> Option<f64> {
        Some(self.gas.mol_per_l(absolute_bar)? / self.mol_per_free_l)
    }

    /// Free litres in a cylinder by its gauge; everything in it counts, also what stays when the gauge shows 0.
    pub fn free_l(&self, size_l: f64, gauge_bar: f64, surface_bar: f64) -> Option<f64> {
        Some(size_l * self.free_per_l(gauge_bar + surface_bar)?)
    }

    /// The gauge reading of a cylinder that holds so many free litres; `None` where the cylinder has no size, the
    /// litres are negative, or the pressure lies beyond 1000 bar.
    pub fn gauge_bar(&self, size_l: f64, free_l: f64, surface_bar: f64) -> Option<f64> {
        let absolute = self.gas.pressure_bar(free_l / size_l * self.mol_per_free_l)?;
        Some(absolute - surface_bar)
    }

    /// Compressibility at an absolute pressure: 1 for an ideal gas.
    pub fn compressibility(&self, absolute_bar: f64) -> Option<f64> {
        self.gas.compressibility(absolute_bar)
    }
}

/// What a cylinder's gauge would read at another temperature, nothing breathed: the same moles.
pub fn gauge_at_other_temperature_bar(
    mix: Mix,
    gauge_bar: f64,
    surface_bar: f64,
    from_c: f64,
    to_c: f64,
) -> Option<f64> {
    let litres = Stored::new(mix, from_c)?.free_l(1.0, gauge_bar, surface_bar)?;
    Stored::new(mix, to_c)?.gauge_bar(1.0, litres, surface_bar)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn litres_and_gauge_are_inverse() {
        for mix in [Mix::AIR, Mix::OXYGEN, Mix { o2: 0.18, he: 0.45 }, Mix { o2: 0.0, he: 1.0 }] {
            for (gauge, celsius) in [(0.0, 20.0), (50.0, 4.0), (205.0, 9.0), (300.0, 35.0)] {
                let stored = Stored::new(mix, celsius);
                let litres = stored.and_then(|s| s.free_l(12.0, gauge, 0.98));
                let back = stored.zip(litres).and_then(|(s, l)| s.gauge_bar(12.0, l, 0.98));
                assert!(back.is_some_and(|b| (b - gauge).abs() < 1e-9), "{mix:?} {gauge} {celsius}: {back:?}");
            }
        }
    }

    #[test]
    fn a_cold_cylinder_reads_less() {
        let cold = gauge_at_other_temperature_bar(Mix::AIR, 200.0, 1.013, 20.0, 5.0);
        // Ideal gas would say 201.013·278.15/293.15 − 1.013 = 189.7; air at 200 bar loses more than its share.
        assert!(cold.is_some_and(|bar| bar > 180.0 && bar < 189.7), "{cold:?}");
    }

    #[test]
    fn hostile_numbers_give_none() {
        let stored = Stored::new(Mix::AIR, 20.0);
        assert!(stored.is_some());
        for x in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1e9, 1e9] {
            assert_eq!(stored.and_then(|s| s.free_l(10.0, x, 1.0)), None);
            assert_eq!(stored.and_then(|s| s.gauge_bar(10.0, x, 1.0)), None);
            assert_eq!(Stored::new(Mix::AIR, x), None);
            assert_eq!(Stored::new(Mix { o2: x, he: 0.0 }, 20.0), None);
        }
        assert_eq!(stored.and_then(|s| s.gauge_bar(0.0, 100.0, 1.0)), None);
    }
}
