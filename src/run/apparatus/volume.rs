//! What a loop's volume asks for, and where it leads.

use crate::physics::loop_gas::{dry_bar, free_l, free_l_per_bar};
use crate::physics::roots;
use crate::physics::transient::{Balance, SHORT_UNBREATHABLE_L};
use crate::run::{Breath, Crossing, EventKind, Regime, State};

/// A loop at an instant, and what its volume asks for.
#[derive(Debug, Clone, Copy)]
pub(in crate::run) struct Supplied {
    /// The loop's volume, litres.
    loop_l: f64,
    bar: f64,
    bar_per_min: f64,
    litres: f64,
    /// Whether it holds all it can.
    pub full: bool,
}

/// The closed form of a loop whose flows are constant.
#[derive(Debug, Clone, Copy)]
pub(in crate::run) struct Fed {
    pub balance: Balance,
    he: f64,
    he_lpm: f64,
}

impl Fed {
    pub(super) fn loop_of(self) -> Breath {
        Breath::Loop { balance: self.balance, he: self.he, he_lpm: self.he_lpm }
    }
}

/// What a make-up valve without a bound gives to a loop that is short, free litres a minute.
const WIDE_OPEN_LPM: f64 = 1000.0;

impl Supplied {
    pub(super) fn of(now: &State, loop_l: f64) -> Supplied {
        let full_l = free_l(loop_l, now.bar);
        let full = now.breathed.litres >= full_l * (1.0 - 1e-12);
        let litres = if full { full_l } else { now.breathed.litres };
        Supplied { loop_l, bar: now.bar, bar_per_min: now.bar_per_min, litres, full }
    }

    /// Free litres in it.
    pub(super) fn litres(&self) -> f64 {
        self.litres
    }

    /// Whether nothing is left in it, to a thousandth of a millilitre.
    pub(super) fn is_empty(&self) -> bool {
        self.litres <= 1e-6
    }

    /// What must come in so that the loop stays full, free litres a minute: `V + k`.
    pub(super) fn room(&self, metabolic_lpm: f64) -> f64 {
        metabolic_lpm + self.growth_lpm()
    }

    /// What a full loop gains a minute as depth changes, free litres: `k`.
    pub(super) fn growth_lpm(&self) -> f64 {
        free_l_per_bar(self.loop_l) * self.bar_per_min
    }

    /// What the make-up valve gives beside a feed: what keeps a full loop full, all it can where the loop is short.
    pub(super) fn make_up(&self, metabolic_lpm: f64, feed_lpm: f64, greatest_lpm: f64) -> f64 {
        if self.full {
            (self.room(metabolic_lpm) - feed_lpm).max(0.0).min(greatest_lpm)
        } else {
            greatest_lpm.min(WIDE_OPEN_LPM)
        }
    }

    /// The closed form with so much coming in, of it so much oxygen and such a share of helium; and when no oxygen is
    /// left. `steady` says that the flows were chosen to hold the fraction, so that it stays to the last digit.
    pub(super) fn breath(
        &self,
        now: &State,
        total_lpm: f64,
        oxygen_in_lpm: f64,
        supply_he: f64,
        metabolic_lpm: f64,
        steady: bool,
    ) -> (Fed, Option<f64>) {
        let o2 = now.breathed.o2;
        // Of a loop without oxygen the body takes what comes in and no more.
        let taken = if o2 > 0.0 { metabolic_lpm } else { metabolic_lpm.min(oxygen_in_lpm) };
        let surplus = total_lpm - taken;
        let gain_lpm = if self.full { surplus.min(self.growth_lpm()) } else { surplus };
        let oxygen_lpm = if steady { surplus * o2 } else { oxygen_in_lpm - taken };
        let balance = Balance::fed(o2, self.litres, gain_lpm, 0.0, 0.0, 0.0);
        let balance = Balance { oxygen_lpm, wash_lpm: surplus, ..balance };
        let gone = if o2 > 0.0 { balance.minutes_to_o2(0.0) } else { None };
        (Fed { balance, he: now.breathed.he, he_lpm: total_lpm * supply_he }, gone)
    }

    /// When a loop that gains so much a minute is full again, or too short to breathe.
    pub(super) fn watch_volume(&self, regime: &mut Regime, gain_lpm: f64) {
        // What a volume lacks of being full: in a straight line.
        let behind = |volume_l: f64| {
            let closing = gain_lpm - free_l_per_bar(volume_l) * self.bar_per_min;
            (free_l(volume_l, self.bar) - self.litres, -closing, 0.0)
        };
        self.watch(regime, behind);
    }

    /// The same for a loop whose gain changes evenly, and which may be full again though it is full now.
    pub(super) fn watch_parabola(&self, regime: &mut Regime, balance: &Balance) {
        let crosses = |volume_l: f64| {
            let behind = free_l(volume_l, self.bar) - self.litres;
            let closing = free_l_per_bar(volume_l) * self.bar_per_min - balance.gain_lpm;
            roots::first_of_parabola(behind, closing, -0.5 * balance.gain_lpm_per_min)
        };
        let least = (self.loop_l - SHORT_UNBREATHABLE_L).max(0.0);
        regime.reaches(crosses(self.loop_l), Crossing::LoopFull);
        if self.litres > free_l(least, self.bar) * (1.0 + 1e-9) {
            regime.reaches(crosses(least), Crossing::LoopShort);
        }
        regime.reaches(crosses(0.0), Crossing::Saturated);
    }

    /// The same for a loop that is short while its partial pressure is held, by its inert gas: of a full one
    /// `n·(P − w)·(P − set-point)/P` free litres are inert.
    pub(super) fn watch_inert(&self, regime: &mut Regime, inert_l: f64, inert_lpm: f64, po2_bar: f64) {
        let (bar, rate) = (self.bar, self.bar_per_min);
        let (dry, inert_bar) = (dry_bar(bar), bar - po2_bar);
        // What a volume lacks of being full, times the pressure: a parabola.
        let behind = |volume_l: f64| {
            let per_bar = free_l_per_bar(volume_l);
            (
                per_bar * dry * inert_bar - inert_l * bar,
                per_bar * rate * (dry + inert_bar) - inert_l * rate - inert_lpm * bar,
                per_bar * rate * rate - inert_lpm * rate,
            )
        };
        self.watch(regime, behind);
    }

    /// When what a volume lacks of being full, a parabola in time, comes to nothing.
    fn watch(&self, regime: &mut Regime, behind: impl Fn(f64) -> (f64, f64, f64)) {
        let (a, b, c) = behind(self.loop_l);
        if !self.full && a > 0.0 {
            regime.reaches(roots::first_of_parabola(a, b, c), Crossing::LoopFull);
        }
        let (a, b, c) = behind((self.loop_l - SHORT_UNBREATHABLE_L).max(0.0));
        if -a > 1e-9 * self.litres {
            regime.reaches(roots::first_of_parabola(a, b, c), Crossing::LoopShort);
        }
    }
}

/// Puts a loop exactly on what its volume or its last oxygen has reached.
pub(in crate::run) fn cross_volume(now: &mut State, loop_l: f64, event: Crossing) -> Option<EventKind> {
    match event {
        Crossing::LoopFull => {
            now.breathed.litres = free_l(loop_l, now.bar);
            Some(EventKind::LoopFull)
        }
        Crossing::LoopShort => {
            now.breathed.litres = free_l((loop_l - SHORT_UNBREATHABLE_L).max(0.0), now.bar);
            Some(EventKind::LoopShort)
        }
        Crossing::OxygenGone => {
            now.breathed.o2 = 0.0;
            Some(EventKind::OxygenGone)
        }
        _ => None,
    }
}

/// Whether a loop may have so many litres: more than none, no more than a cubic metre.
pub(in crate::run) fn sane_loop(loop_l: f64) -> bool {
    (1e-2..=1e3).contains(&loop_l)
}
