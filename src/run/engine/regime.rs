//! What holds between two events, in closed form.

use serde::Serialize;

use crate::physics::Mix;
use crate::physics::absorbent;
use crate::physics::litres::{Free, Stpd};
use crate::physics::loop_gas::{LOOP_VAPOUR_BAR, dry_bar};
use crate::physics::passive::Spill;
use crate::physics::roots;
use crate::physics::transient::Balance;
use crate::run::{Draws, EventKind, LoopGas};

/// What holds from an instant on, up to the source's own next event.
#[derive(Debug, Clone, PartialEq)]
pub struct Regime {
    /// The gas breathed.
    pub breath: Breath,
    /// The gas drawn.
    pub draws: Draws,
    /// Minutes until the source's own next event, and which; `None` if nothing changes of itself.
    pub until: Option<(f64, Crossing)>,
    /// What the oxygen clocks take at least.
    pub clock_floor: ClockFloor,
    /// Rated minutes of absorbent used a minute.
    pub absorbent_per_min: f64,
    /// Carbon dioxide made, free litres a minute.
    pub co2_lpm: f64,
    /// What to tell at its start.
    pub notice: Option<EventKind>,
}

impl Regime {
    /// A regime that nothing ends from within and that wears out nothing.
    pub fn of(breath: Breath, draws: Draws) -> Regime {
        Regime {
            breath,
            draws,
            until: None,
            clock_floor: ClockFloor::None,
            absorbent_per_min: 0.0,
            co2_lpm: 0.0,
            notice: None,
        }
    }

    /// The same on a loop whose carbon dioxide is taken up.
    #[must_use]
    pub(in crate::run) fn scrubbed(mut self, scrubber: &Scrubber, metabolic_lpm: f64) -> Regime {
        self.co2_lpm = absorbent::carbon_dioxide_lpm(metabolic_lpm, scrubber.quotient);
        self.absorbent_per_min = match scrubber.rated_co2 {
            Some(rated) => absorbent::minutes_per_minute(Free(self.co2_lpm).stpd(), rated),
            None => 1.0,
        };
        self
    }

    /// Takes note of something that will be reached, if it is sooner than what is known.
    pub(in crate::run) fn reaches(&mut self, minutes: Option<f64>, crossing: Crossing) {
        if let Some(minutes) = minutes
            && minutes.is_finite()
            && minutes >= 0.0
            && self.until.is_none_or(|(first, _)| minutes < first)
        {
            self.until = Some((minutes, crossing));
        }
    }
}

/// A regime along a stretch of dive on which ambient pressure changes evenly.
#[derive(Debug, Clone, Copy)]
pub struct Along<'r> {
    /// What holds.
    pub regime: &'r Regime,
    /// Ambient pressure at the start, bar.
    pub bar: f64,
    /// How it changes, bar a minute.
    pub bar_per_min: f64,
}

impl Along<'_> {
    /// Ambient pressure after minutes, bar.
    pub fn bar_at(&self, minutes: f64) -> f64 {
        self.bar + self.bar_per_min * minutes
    }
}

/// What takes carbon dioxide out of a loop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Scrubber {
    /// Carbon dioxide made for oxygen taken.
    pub quotient: f64,
    /// The output that its bed is rated at; without one a minute counts as one.
    pub rated_co2: Option<Stpd>,
}

impl Scrubber {
    pub(in crate::run) fn is_sane(&self) -> bool {
        (0.0..=10.0).contains(&self.quotient)
    }
}

impl Default for Scrubber {
    fn default() -> Scrubber {
        Scrubber { quotient: absorbent::QUOTIENT, rated_co2: None }
    }
}

/// What is reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Crossing {
    /// The loop's oxygen is at the set-point.
    SetPoint,
    /// A loop that was short of gas is full again.
    LoopFull,
    /// The loop is so short of gas that it can't be breathed.
    LoopShort,
    /// No oxygen is left in the loop.
    OxygenGone,
    /// What holds a loop changes: the injector of a closed one gives all it can or need give nothing more, it is all oxygen,
    /// a passive one's spill starts or stops to need gas, or a flow that holds a pressure is reckoned anew as the depth
    /// changes.
    Saturated,
    /// A cylinder gives no more.
    Empty(usize),
    /// The diver has just gone over to this source.
    TakenUp,
    /// The loop is flushed with so many of its volumes.
    Flush(f64),
}

/// What the oxygen clocks count at least while the loop is at or below its set-point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ClockFloor {
    /// What is breathed.
    None,
    /// A fraction.
    Fraction(f64),
    /// A partial pressure in bar, as far as ambient pressure allows it.
    Bar(f64),
}

impl ClockFloor {
    /// The partial pressure it stands for at an ambient pressure, bar.
    pub fn po2_bar(self, bar: f64) -> f64 {
        match self {
            ClockFloor::None => 0.0,
            ClockFloor::Fraction(o2) => o2 * bar,
            ClockFloor::Bar(po2) => po2.min(bar),
        }
    }
}

/// The gas breathed over a segment, in closed form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Breath {
    /// A cylinder's mix.
    Open(Mix),
    /// A loop whose flows are constant.
    Loop {
        /// Its oxygen and volume.
        balance: Balance,
        /// Helium at the start.
        he: f64,
        /// Helium coming in, free litres a minute.
        he_lpm: f64,
    },
    /// A passive loop whose spill goes with depth.
    Spilling {
        /// Its oxygen.
        spill: Spill,
        /// Helium at the start.
        he: f64,
        /// Helium in the supply.
        supply_he: f64,
    },
    /// A closed loop whose partial pressure of oxygen is held.
    Held {
        /// The partial pressure, bar.
        po2_bar: f64,
        /// The loop's gas at the start.
        start: LoopGas,
        /// How its volume goes.
        volume: Volume,
        /// Helium's share of the inert gas that comes in.
        he_share: f64,
    },
}

/// How the volume of a loop goes whose partial pressure of oxygen is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Volume {
    /// Full, and venting on the way up: nothing but oxygen comes in, so helium and nitrogen keep their proportion. What
    /// it gains a minute, free litres.
    Venting(f64),
    /// Full, and taking diluent for what it gains a minute, free litres; nothing is vented.
    Filling(f64),
    /// Short of gas, venting nothing: its inert gas grows by what diluent brings a minute, free litres, and its oxygen
    /// goes along with that as the partial pressure asks.
    Short(f64),
}

impl Volume {
    pub(in crate::run) fn litres_at(self, minutes: f64, bar: f64, start: &LoopGas, po2_bar: f64) -> f64 {
        match self {
            Volume::Venting(gain_lpm) | Volume::Filling(gain_lpm) => start.litres + gain_lpm * minutes,
            Volume::Short(inert_lpm) => (start.litres * (1.0 - start.o2) + inert_lpm * minutes) * bar / (bar - po2_bar),
        }
    }
}

impl Breath {
    /// The mix after minutes, at an ambient pressure in bar.
    pub fn mix_at(&self, minutes: f64, bar: f64) -> Mix {
        match self {
            Breath::Open(mix) => *mix,
            Breath::Loop { balance, he, he_lpm } => {
                Mix { o2: balance.o2_at(minutes), he: balance.inert_at(minutes, *he, *he_lpm) }
            }
            Breath::Spilling { spill, he, supply_he } => {
                Mix { o2: spill.o2_at(minutes), he: spill.inert_at(minutes, *he, *supply_he) }
            }
            Breath::Held { po2_bar, start, volume, he_share } => {
                let o2 = (po2_bar / bar).min(1.0);
                let he = match volume {
                    Volume::Venting(_) if start.o2 < 1.0 => start.he * (1.0 - o2) / (1.0 - start.o2),
                    Volume::Venting(_) => 0.0,
                    // Nothing is vented: what the loop has more of inert gas has come in.
                    _ => {
                        let litres = volume.litres_at(minutes, bar, start, *po2_bar);
                        let come = litres * (1.0 - o2) - start.litres * (1.0 - start.o2);
                        (start.litres * start.he + he_share * come) / litres
                    }
                };
                Mix { o2, he: he.clamp(0.0, 1.0 - o2) }
            }
        }
    }

    /// Oxygen alone, for what needs no more.
    pub fn o2_at(&self, minutes: f64, bar: f64) -> f64 {
        match self {
            Breath::Open(mix) => mix.o2,
            Breath::Loop { balance, .. } => balance.o2_at(minutes),
            Breath::Spilling { spill, .. } => spill.o2_at(minutes),
            Breath::Held { po2_bar, .. } => (po2_bar / bar).min(1.0),
        }
    }

    /// Free litres in the loop after minutes, at an ambient pressure in bar; `None` where no loop is breathed.
    pub fn litres_at(&self, minutes: f64, bar: f64) -> Option<f64> {
        match self {
            Breath::Open(_) => None,
            Breath::Loop { balance, .. } => Some(balance.litres_at(minutes)),
            Breath::Spilling { spill, .. } => Some(spill.free_l_per_bar * dry_bar(bar)),
            Breath::Held { po2_bar, start, volume, .. } => {
                Some(volume.litres_at(minutes, bar, start, *po2_bar).max(0.0))
            }
        }
    }

    /// How fast the oxygen fraction goes to where it goes after minutes, a minute: a measure of how curved the segment is
    /// there. 0 where its partial pressure is a straight line throughout.
    pub(in crate::run) fn curvature_per_min(&self, minutes: f64) -> f64 {
        match self {
            Breath::Open(_) | Breath::Held { .. } => 0.0,
            Breath::Loop { balance, .. } => {
                if balance.oxygen_lpm - balance.wash_lpm * balance.o2 == 0.0 {
                    return 0.0;
                }
                let gain = balance.gain_lpm + balance.gain_lpm_per_min * minutes;
                (balance.wash_lpm.abs() + gain.abs()) / balance.litres_at(minutes).max(1e-9)
            }
            Breath::Spilling { spill, .. } => {
                let dry = dry_bar(spill.bar + spill.bar_per_min * minutes);
                spill.spill_lpm_per_bar / spill.free_l_per_bar + spill.bar_per_min.abs() / dry.max(1e-3)
            }
        }
    }

    /// The moment within so many minutes at which the partial pressure of oxygen turns round, on a change of depth.
    pub fn turning(&self, bar: f64, bar_per_min: f64, within_min: f64) -> Option<f64> {
        if bar_per_min == 0.0 || matches!(self, Breath::Open(_) | Breath::Held { .. }) {
            return None;
        }
        let slope = |minutes: f64| self.po2_per_min(minutes, bar + bar_per_min * minutes, bar_per_min);
        roots::zero(0.0, within_min, slope).filter(|minutes| *minutes > 0.0 && *minutes < within_min)
    }

    /// The first moment within so many minutes at which the partial pressure of oxygen is at a value, coming from above
    /// or below it.
    pub fn first_at(&self, bar: f64, bar_per_min: f64, within_min: f64, po2_bar: f64) -> Option<f64> {
        if let (Breath::Loop { balance, .. }, true) = (self, bar_per_min == 0.0) {
            return balance.minutes_to_o2(po2_bar / bar).filter(|minutes| *minutes <= within_min);
        }
        let off = |minutes: f64| {
            let bar = bar + bar_per_min * minutes;
            self.o2_at(minutes, bar) * bar - po2_bar
        };
        let turn = self.turning(bar, bar_per_min, within_min);
        let first = roots::zero(0.0, turn.unwrap_or(within_min), off);
        first.or_else(|| roots::zero(turn?, within_min, off))
    }

    /// How the partial pressure of oxygen moves after minutes, bar a minute, at an ambient pressure and its rate.
    pub(in crate::run) fn po2_per_min(&self, minutes: f64, bar: f64, bar_per_min: f64) -> f64 {
        match self {
            Breath::Open(mix) => mix.o2 * bar_per_min,
            Breath::Held { po2_bar, .. } => {
                if bar < *po2_bar {
                    bar_per_min
                } else {
                    0.0
                }
            }
            Breath::Loop { balance, .. } => balance.o2_per_min_at(minutes) * bar + balance.o2_at(minutes) * bar_per_min,
            Breath::Spilling { spill, .. } if spill.gone => 0.0,
            Breath::Spilling { spill, .. } => {
                // F·P = Fs·P − H·P/(P − w).
                let dry = dry_bar(bar);
                let behind = (spill.supply_o2 - spill.o2_at(minutes)) * dry;
                let filling = spill.metabolic_lpm * (1.0 - spill.supply_o2) - spill.spill_lpm_per_bar * behind;
                let drying = behind * LOOP_VAPOUR_BAR * bar_per_min / (dry * dry);
                spill.supply_o2 * bar_per_min - filling / spill.free_l_per_bar * bar / dry + drying
            }
        }
    }
}
