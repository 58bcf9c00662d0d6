//! A closed loop: oxygen is injected to hold a partial pressure, diluent keeps the volume.

use serde::Serialize;

use super::volume::{Fed, Supplied, cross_volume, sane_loop};
use crate::physics::closed::inject_that_holds_lpm;
use crate::physics::roots;
use crate::physics::{Mix, SetPoint};
use crate::run::{
    Breath, Breathing, ClockFloor, Crossing, Draw, Draws, EventKind, Leg, LoopGas, Purpose, Regime, Scrubber, State,
    Volume, Why,
};

/// A closed loop with pure oxygen and a diluent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Closed {
    /// Counterlungs, beds and lungs, litres.
    pub loop_l: f64,
    /// The most oxygen it injects, free litres a minute.
    pub inject_lpm: f64,
    /// The most diluent that its make-up valve gives, free litres a minute; infinite where nothing bounds it.
    pub make_up_lpm: f64,
    /// The oxygen cylinder.
    pub oxygen: usize,
    /// The diluent cylinder.
    pub diluent: usize,
    /// What takes carbon dioxide out.
    pub scrubber: Scrubber,
}

/// Partial pressures this close to the set-point are at it, a share.
const AT_SET_POINT: f64 = 1e-11;
/// An injector without a bound is taken to give this much, free litres a minute.
const WIDEST_LPM: f64 = 1e4;

/// A loop at an instant with all that may come into it.
struct Instant<'a> {
    now: &'a State,
    leg: &'a Leg,
    held: Supplied,
    metabolic: f64,
    /// The most oxygen and diluent that can come in.
    inject_lpm: f64,
    make_up_lpm: f64,
    diluent: Mix,
}

impl Instant<'_> {
    /// How far the partial pressure is above the set-point after minutes, bar.
    fn off(&self, fed: Fed, set_point: f64) -> impl Fn(f64) -> f64 {
        let (breath, bar, rate) = (fed.loop_of(), self.now.bar, self.now.bar_per_min);
        move |minutes| breath.o2_at(minutes, bar + rate * minutes) * (bar + rate * minutes) - set_point
    }
}

impl Breathing for Closed {
    fn regime(&self, now: &State, leg: &Leg) -> Regime {
        let diluent = now.mix_that_flows(self.diluent);
        let at = Instant {
            now,
            leg,
            held: Supplied::of(now, self.loop_l),
            metabolic: leg.work.oxygen_lpm,
            inject_lpm: if now.gives(self.oxygen) { self.inject_lpm.clamp(0.0, WIDEST_LPM) } else { 0.0 },
            make_up_lpm: if diluent.is_some() { self.make_up_lpm } else { 0.0 },
            diluent: diluent.unwrap_or(Mix { o2: 0.0, he: 0.0 }),
        };
        let set_point = now.set_point.and_then(SetPoint::bar).unwrap_or(0.0);
        let off = now.breathed.o2 * now.bar - set_point;
        let mut regime = if off.abs() <= AT_SET_POINT * set_point && set_point > 0.0 {
            self.at_set_point(&at, set_point)
        } else if off > 0.0 {
            self.towards(&at, 0.0, set_point)
        } else {
            self.towards(&at, at.inject_lpm, set_point)
        };
        if set_point > 0.0 {
            regime.clock_floor = ClockFloor::Bar(set_point);
        }
        regime.scrubbed(&self.scrubber, at.metabolic)
    }

    fn is_sane(&self) -> bool {
        sane_loop(self.loop_l) && self.inject_lpm >= 0.0 && self.make_up_lpm >= 0.0 && self.scrubber.is_sane()
    }

    fn cross(&self, now: &mut State, event: Crossing) -> Option<EventKind> {
        match event {
            Crossing::SetPoint => {
                now.breathed.o2 = (now.set_point?.bar()? / now.bar).min(1.0);
                Some(EventKind::SetPointReached)
            }
            Crossing::TakenUp => {
                if self.make_up_lpm > 0.0 {
                    now.refill(self.loop_l, self.diluent);
                }
                None
            }
            Crossing::Flush(volumes) => {
                now.flush(self.diluent, volumes);
                Some(EventKind::Flushed)
            }
            other => cross_volume(now, self.loop_l, other),
        }
    }
}

impl Closed {
    /// The partial pressure is at the set-point: it is held if the injector can, and diluent doesn't carry it over.
    fn at_set_point(&self, at: &Instant<'_>, set_point: f64) -> Regime {
        let (o2, rate) = (at.now.breathed.o2, at.now.bar_per_min);
        let gain = self.loop_l * rate;
        let starved = !at.held.full || gain > at.make_up_lpm * (1.0 - at.diluent.o2);
        let starved_lpm = if starved { at.held.make_up(at.metabolic, 0.0, at.make_up_lpm) } else { 0.0 };
        let needed = if starved {
            // Short of diluent: on the way down the loop's own gas is squeezed, its partial pressure rises of itself.
            let squeezed = at.now.breathed.litres * o2 * rate / at.now.bar;
            (at.metabolic - (squeezed + starved_lpm * (at.diluent.o2 - o2)) / (1.0 - o2)).max(0.0)
        } else {
            inject_that_holds_lpm(o2, at.diluent.o2, self.loop_l, rate, at.metabolic)
        };
        if needed <= 0.0 && at.metabolic > 0.0 || gain > 0.0 && at.metabolic == 0.0 {
            let (mut regime, fed) = self.injecting(at, 0.0);
            // It rises from the set-point, and comes back only where the curve turns.
            let off = at.off(fed, set_point);
            let (bar, within) = (at.now.bar, at.leg.lasts_min);
            let turn = fed.loop_of().turning(bar, rate, within).filter(|turn| off(*turn) > 1e-9 * set_point);
            regime.reaches(turn.and_then(|turn| roots::zero(turn, within, off)), Crossing::SetPoint);
            return regime;
        }
        if needed.is_nan() || needed >= at.inject_lpm * (1.0 - 1e-9) && needed > 0.0 {
            // It falls from the set-point and stays below: what would hold it only grows along a leg.
            let (mut regime, _) = self.injecting(at, at.inject_lpm);
            regime.notice = Some(EventKind::InjectorSaturated);
            return regime;
        }
        let over_bar = at.now.bar - set_point;
        let mut oxygen = self.oxygen(at, needed);
        let mut until = None;
        let (volume, diluent_lpm) = if starved {
            // Nothing is vented, so inert gas grows by what diluent brings, and N = inert·P/(P − set-point).
            let inert_l = at.held.litres() * (1.0 - o2);
            let inert_lpm = starved_lpm * (1.0 - at.diluent.o2);
            if rate != 0.0 {
                oxygen.lpm = at.metabolic - starved_lpm * at.diluent.o2;
                oxygen.curve_per_min = -rate / over_bar;
                oxygen.inverse_l = set_point * (inert_l / over_bar - inert_lpm / rate);
                let square = oxygen.inverse_l * oxygen.curve_per_min / (at.inject_lpm - oxygen.lpm);
                until = Some((1.0 - libm::sqrt(square)) / oxygen.curve_per_min);
            }
            (Volume::Short(inert_lpm), starved_lpm)
        } else if gain >= 0.0 {
            (Volume::Filling(gain), gain + at.metabolic - needed)
        } else {
            // V + V_loop·|dP/dt|·F/(1 − F) with F = set-point/P.
            oxygen.lpm = at.metabolic;
            oxygen.log_l = self.loop_l * set_point;
            oxygen.curve_per_min = -rate / over_bar;
            let spare = (at.inject_lpm - at.metabolic) / -gain;
            let last_bar = set_point * (1.0 + spare) / spare;
            until = Some((at.now.bar - last_bar) / -rate);
            (Volume::Venting(gain), 0.0)
        };
        let mut draws = Draws::none();
        draws.push(oxygen);
        draws.push(Draw::steady(self.diluent, self.purpose(at.leg, Purpose::MakeUp), diluent_lpm));
        let start = LoopGas { litres: at.held.litres(), ..at.now.breathed };
        let breath = Breath::Held { po2_bar: set_point, start, volume, he_lpm: diluent_lpm * at.diluent.he };
        let mut regime = Regime::of(breath, draws);
        regime.reaches(until, Crossing::Saturated);
        match volume {
            Volume::Short(inert_lpm) => {
                at.held.watch_inert(&mut regime, start.litres * (1.0 - o2), inert_lpm, set_point)
            }
            Volume::Venting(gain_lpm) | Volume::Filling(gain_lpm) => at.held.watch_volume(&mut regime, gain_lpm),
        }
        regime
    }

    /// So much oxygen is injected until the partial pressure comes to the set-point.
    fn towards(&self, at: &Instant<'_>, inject_lpm: f64, set_point: f64) -> Regime {
        let (mut regime, fed) = self.injecting(at, inject_lpm);
        let first = fed.loop_of().first_at(at.now.bar, at.now.bar_per_min, at.leg.lasts_min, set_point);
        regime.reaches(first, Crossing::SetPoint);
        regime
    }

    /// So much oxygen is injected.
    fn injecting(&self, at: &Instant<'_>, inject_lpm: f64) -> (Regime, Fed) {
        let diluent_lpm = at.held.make_up(at.metabolic, inject_lpm, at.make_up_lpm);
        let total = inject_lpm + diluent_lpm;
        let oxygen_in = inject_lpm + diluent_lpm * at.diluent.o2;
        let he_share = if total > 0.0 { diluent_lpm * at.diluent.he / total } else { 0.0 };
        let (fed, gone) = at.held.breath(at.now, total, oxygen_in, he_share, at.metabolic, false);
        let mut draws = Draws::none();
        draws.push(self.oxygen(at, inject_lpm));
        draws.push(Draw::steady(self.diluent, self.purpose(at.leg, Purpose::MakeUp), diluent_lpm));
        let mut regime = Regime::of(fed.loop_of(), draws);
        regime.reaches(gone, Crossing::OxygenGone);
        at.held.watch_volume(&mut regime, fed.balance.gain_lpm);
        (regime, fed)
    }

    fn oxygen(&self, at: &Instant<'_>, lpm: f64) -> Draw {
        Draw::steady(self.oxygen, self.purpose(at.leg, Purpose::Feed), lpm)
    }

    fn purpose(&self, leg: &Leg, purpose: Purpose) -> Purpose {
        if leg.why == Why::PreBreathe { Purpose::PreBreathe } else { purpose }
    }
}
