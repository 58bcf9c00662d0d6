//! Cylinders and what is drawn from them.

use serde::Serialize;

use crate::physics::Mix;
use crate::physics::gas::Stored;
use crate::physics::roots;

/// A cylinder as it is known before the dive. Pressures are gauge readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Filled {
    /// Water volume, litres.
    pub size_l: f64,
    /// The mix.
    pub mix: Mix,
    /// What its gauge showed, bar …
    pub gauge_bar: f64,
    /// … at this temperature, °C.
    pub read_c: f64,
    /// The temperature it is used at: the water's, °C.
    pub water_c: f64,
    /// Pressure at the surface, bar: what its gauge takes for 0.
    pub surface_bar: f64,
    /// What is kept in reserve, bar in the water.
    pub reserve_bar: f64,
    /// Below this no gas can be had, bar in the water.
    pub unusable_bar: f64,
    /// The greatest partial pressure of oxygen at which it may be breathed, bar.
    pub greatest_po2_bar: f64,
}

#[cfg(test)]
impl Filled {
    /// Twelve litres of air at 200 bar, read as warm as they are used, all but the reserve to be had: for tests to change.
    pub(crate) const PLAIN: Filled = Filled {
        size_l: 12.0,
        mix: Mix::AIR,
        gauge_bar: 200.0,
        read_c: 20.0,
        water_c: 20.0,
        surface_bar: 1.0,
        reserve_bar: 50.0,
        unusable_bar: 0.0,
        greatest_po2_bar: 1.4,
    };
}

/// A cylinder: a real gas in it, so every litre and every gauge reading follow from each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Cylinder {
    /// As it is known before the dive.
    pub filled: Filled,
    /// The mix that is breathed from it.
    pub mix: Mix,
    /// What it holds at the start, free litres.
    pub full_l: f64,
    /// What it holds at the reserve, free litres.
    pub reserve_l: f64,
    /// What it holds of gas that can't be had, free litres.
    pub unusable_l: f64,
    /// Its number among the cylinders that several divers of the dive draw from; `None` where it is one diver's own.
    pub common: Option<usize>,
    /// The number of the cylinders that are breathed from evenly, this one among them; `None` where it is breathed alone.
    pub twins: Option<usize>,
    in_water: Stored,
}

impl Cylinder {
    /// A cylinder from what is known of it; `None` for an impossible mix, pressure, size or temperature.
    pub fn new(filled: Filled) -> Option<Cylinder> {
        let Filled { size_l, mix, surface_bar, .. } = filled;
        if !(size_l > 0.0 && size_l <= 1e5 && filled.gauge_bar >= 0.0) {
            return None;
        }
        let in_water = Stored::new(mix, filled.water_c)?;
        let free_l = |gauge_bar: f64| in_water.free_l(size_l, gauge_bar.max(0.0), surface_bar);
        Some(Cylinder {
            filled,
            mix,
            full_l: Stored::new(mix, filled.read_c)?.free_l(size_l, filled.gauge_bar, surface_bar)?,
            reserve_l: free_l(filled.reserve_bar)?,
            unusable_l: free_l(filled.unusable_bar)?,
            common: None,
            twins: None,
            in_water,
        })
    }

    /// What its gauge shows in the water with so many free litres in it, bar; not below 0. `None` beyond 1000 bar.
    pub fn gauge_bar(&self, litres: f64) -> Option<f64> {
        self.in_water.gauge_bar(self.filled.size_l, litres.max(0.0), self.filled.surface_bar).map(|bar| bar.max(0.0))
    }

    /// What it holds at a gauge reading in the water, free litres.
    pub fn free_l(&self, gauge_bar: f64) -> Option<f64> {
        self.in_water.free_l(self.filled.size_l, gauge_bar, self.filled.surface_bar)
    }
}

/// What gas is drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Purpose {
    /// Fed to the loop: the constant and the controlled feed, or injected oxygen.
    Feed,
    /// To keep the loop's volume.
    MakeUp,
    /// To make up for what a passive loop spills.
    Spill,
    /// A flush of the loop.
    Flush,
    /// Pre-breathing at the surface.
    PreBreathe,
    /// Checks before the dive.
    Check,
    /// Breathed on open circuit.
    OpenCircuit,
    /// Suit and wing.
    Inflation,
}

/// A flow out of a cylinder over a segment, in closed form: after `t` minutes
/// `lpm·t + lpm_per_min·t²/2 − log_l·ln(1 − r·t) + inverse_l·r·t/(1 − r·t)` free litres, with `r` = `curve_per_min`.
/// The last two belong to oxygen injected on a closed loop while depth changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// From which cylinder.
    pub cylinder: usize,
    /// What for.
    pub purpose: Purpose,
    /// Free litres a minute at the start.
    pub lpm: f64,
    /// How that grows a minute: open circuit on a change of depth.
    pub lpm_per_min: f64,
    /// The scale of the logarithm: a full loop on the way up.
    pub log_l: f64,
    /// The scale of the inverse: a loop short of gas.
    pub inverse_l: f64,
    /// Their rate, a minute.
    pub curve_per_min: f64,
}

impl Draw {
    /// A flow that stays as it is.
    pub fn steady(cylinder: usize, purpose: Purpose, lpm: f64) -> Draw {
        Draw::growing(cylinder, purpose, lpm, 0.0)
    }

    /// A flow that grows or shrinks evenly.
    pub fn growing(cylinder: usize, purpose: Purpose, lpm: f64, lpm_per_min: f64) -> Draw {
        Draw { cylinder, purpose, lpm, lpm_per_min, log_l: 0.0, inverse_l: 0.0, curve_per_min: 0.0 }
    }

    /// Free litres drawn after minutes.
    pub fn litres(&self, minutes: f64) -> f64 {
        let even = minutes * (self.lpm + 0.5 * self.lpm_per_min * minutes);
        if self.curve_per_min == 0.0 {
            return even;
        }
        let share = self.curve_per_min * minutes;
        even - self.log_l * libm::log1p(-share) + self.inverse_l * share / (1.0 - share)
    }

    /// The flow after minutes, free litres a minute.
    pub fn lpm_at(&self, minutes: f64) -> f64 {
        let even = self.lpm + self.lpm_per_min * minutes;
        if self.curve_per_min == 0.0 {
            return even;
        }
        let left = 1.0 - self.curve_per_min * minutes;
        even + self.curve_per_min / left * (self.log_l + self.inverse_l / left)
    }
}

/// The flows of one segment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Draws {
    flows: [Option<Draw>; 4],
}

impl Draws {
    /// None at all.
    pub const fn none() -> Draws {
        Draws { flows: [None; 4] }
    }

    /// Adds a flow, unless it is none. No apparatus has more than three; the suit and wing are the fourth.
    pub fn push(&mut self, draw: Draw) {
        let flows = draw.lpm != 0.0 || draw.lpm_per_min != 0.0 || draw.curve_per_min != 0.0;
        if flows && let Some(slot) = self.flows.iter_mut().find(|slot| slot.is_none()) {
            *slot = Some(draw);
        }
    }

    /// The flows.
    pub fn iter(&self) -> impl Iterator<Item = &Draw> {
        self.flows.iter().flatten()
    }

    /// Minutes, below `within`, until so many litres are drawn from a cylinder, by others too as `others_l` tells; `None`
    /// if they are not, or were gone before.
    pub(in crate::run) fn minutes_to_draw(
        &self,
        cylinder: usize,
        litres: f64,
        within_min: f64,
        others_l: impl Fn(f64) -> f64,
    ) -> Option<f64> {
        let drawn = |minutes: f64| -> f64 {
            let own = self.iter().filter(|draw| draw.cylinder == cylinder).map(|draw| draw.litres(minutes));
            own.sum::<f64>() + others_l(minutes)
        };
        if litres <= 0.0 || drawn(within_min) < litres {
            return None;
        }
        roots::zero(0.0, within_min, |minutes| drawn(minutes) - litres)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flow_is_the_slope_of_what_is_drawn() {
        let draw = Draw { log_l: 3.0, inverse_l: 2.0, curve_per_min: 0.2, ..Draw::growing(0, Purpose::Feed, 1.5, 0.4) };
        for minutes in [0.0, 0.7, 3.0] {
            let h = 1e-5;
            let slope = (draw.litres(minutes + h) - draw.litres(minutes - h)) / (2.0 * h);
            assert!((slope - draw.lpm_at(minutes)).abs() < 1e-6, "{minutes}: {slope} {}", draw.lpm_at(minutes));
        }
    }

    #[test]
    fn the_moment_litres_are_drawn() {
        let mut draws = Draws::none();
        draws.push(Draw::growing(0, Purpose::OpenCircuit, 10.0, 2.0));
        draws.push(Draw::steady(1, Purpose::Inflation, 5.0));
        draws.push(Draw::steady(2, Purpose::Feed, 0.0));
        assert_eq!(draws.iter().count(), 2);
        let minutes = draws.minutes_to_draw(0, 24.0, 10.0, |_| 0.0);
        assert!(minutes.is_some_and(|t| (t - 2.0).abs() < 1e-12), "{minutes:?}");
        assert_eq!(draws.minutes_to_draw(1, 60.0, 10.0, |_| 0.0), None);
        assert_eq!(draws.minutes_to_draw(1, 0.0, 10.0, |_| 0.0), None);
    }

    #[test]
    fn no_cylinder_of_nonsense() {
        let filled = Filled { water_c: 9.0, unusable_bar: 20.0, ..Filled::PLAIN };
        let known = Cylinder::new(filled);
        // Warm when filled, cold in the water: it reads less there.
        assert!(known.is_some_and(|c| c.gauge_bar(c.full_l).is_some_and(|bar| bar > 185.0 && bar < 195.0)));
        for x in [f64::NAN, f64::INFINITY, -1.0] {
            assert_eq!(Cylinder::new(Filled { size_l: x, ..filled }), None);
            assert_eq!(Cylinder::new(Filled { gauge_bar: x, ..filled }), None);
            assert_eq!(Cylinder::new(Filled { mix: Mix::nitrox(x), ..filled }), None);
        }
        assert_eq!(Cylinder::new(Filled { water_c: -300.0, ..filled }), None);
    }
}
