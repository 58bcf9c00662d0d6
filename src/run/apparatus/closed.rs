//! A closed loop: oxygen is injected to hold a partial pressure, diluent keeps the volume.

use serde::Serialize;

use super::volume::{Fed, Supplied, cross_volume, sane_loop};
use crate::physics::closed::{ALL_OXYGEN, inject_that_holds_lpm};
use crate::physics::loop_gas::LOOP_VAPOUR_BAR;
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
/// A share by which an event just crossed is not seen again.
const HAIR: f64 = 1e-9;

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
            inject_lpm: if now.gives(self.oxygen) { self.inject_lpm } else { 0.0 },
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
        sane_loop(self.loop_l)
            && (0.0..=1e4).contains(&self.inject_lpm)
            && self.make_up_lpm >= 0.0
            && self.scrubber.is_sane()
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
        let (o2, rate, bar) = (at.now.breathed.o2, at.now.bar_per_min, at.now.bar);
        let (gain, inert) = (at.held.growth_lpm(), 1.0 - at.diluent.o2);
        // A full loop on the way down takes so much diluent; more the deeper, as its vapour counts for less.
        let filling = |bar: f64| gain * (1.0 - set_point * LOOP_VAPOUR_BAR / (bar * bar)) / inert;
        let starved = !at.held.full || filling(bar) > at.make_up_lpm * (1.0 - HAIR) && gain > 0.0;
        let starved_lpm = if starved { at.held.make_up(at.metabolic, 0.0, at.make_up_lpm) } else { 0.0 };
        let needed = if starved {
            // Short of diluent: on the way down the loop's own gas is squeezed, its partial pressure rises of itself.
            let squeezed = at.now.breathed.litres * o2 * rate / bar;
            (at.metabolic - (squeezed + starved_lpm * (at.diluent.o2 - o2)) / (1.0 - o2)).max(0.0)
        } else {
            inject_that_holds_lpm(set_point, bar, rate, at.diluent.o2, self.loop_l, at.metabolic)
        };
        if needed <= HAIR * at.metabolic && at.metabolic > 0.0 || gain > 0.0 && at.metabolic == 0.0 {
            let (mut regime, fed) = self.injecting(at, 0.0);
            // It rises from the set-point, and comes back only where the curve turns.
            let off = at.off(fed, set_point);
            let within = at.leg.lasts_min;
            let turn = fed.loop_of().turning(bar, rate, within).filter(|turn| off(*turn) > 1e-9 * set_point);
            regime.reaches(turn.and_then(|turn| roots::zero(turn, within, off)), Crossing::SetPoint);
            return regime;
        }
        if needed.is_nan() || needed >= at.inject_lpm * (1.0 - HAIR) && needed > 0.0 {
            // It falls from the set-point and stays below: what would hold it only grows along a leg.
            let (mut regime, _) = self.injecting(at, at.inject_lpm);
            regime.notice = Some(EventKind::InjectorSaturated);
            return regime;
        }
        let start = LoopGas { litres: at.held.litres(), ..at.now.breathed };
        let mut draws = Draws::none();
        let mut untils = [None, None];
        let volume = if starved {
            let inert_lpm = starved_lpm * inert;
            untils[0] = self.short(at, set_point, start, inert_lpm, &mut draws);
            Volume::Short(inert_lpm)
        } else if gain >= 0.0 {
            untils = self.filling(at, set_point, needed, &mut draws);
            Volume::Filling(gain)
        } else {
            untils[0] = self.venting(at, set_point, &mut draws);
            Volume::Venting(gain)
        };
        let he_share = if inert > 0.0 { at.diluent.he / inert } else { 0.0 };
        let breath = Breath::Held { po2_bar: set_point, start, volume, he_share };
        let mut regime = Regime::of(breath, draws);
        untils.into_iter().for_each(|until| regime.reaches(until, Crossing::Saturated));
        match volume {
            Volume::Short(inert_lpm) => {
                at.held.watch_inert(&mut regime, start.litres * (1.0 - o2), inert_lpm, set_point)
            }
            Volume::Venting(gain_lpm) | Volume::Filling(gain_lpm) => at.held.watch_volume(&mut regime, gain_lpm),
        }
        regime
    }

    /// A loop short of gas: nothing is vented, so inert gas grows by what diluent brings, and `N = inert·P/(P − set-point)`.
    /// When the injector gives all it can.
    fn short(
        &self,
        at: &Instant<'_>,
        set_point: f64,
        start: LoopGas,
        inert_lpm: f64,
        draws: &mut Draws,
    ) -> Option<f64> {
        let (rate, over_bar) = (at.now.bar_per_min, at.now.bar - set_point);
        let diluent_lpm = at.held.make_up(at.metabolic, 0.0, at.make_up_lpm);
        let inert_l = start.litres * (1.0 - start.o2);
        let squeezed = start.litres * start.o2 * rate / at.now.bar;
        let needed = at.metabolic - (squeezed + diluent_lpm * (at.diluent.o2 - start.o2)) / (1.0 - start.o2);
        let mut oxygen = self.oxygen(at, needed.max(0.0));
        let mut until = None;
        if rate != 0.0 {
            oxygen.lpm = at.metabolic - diluent_lpm * at.diluent.o2;
            oxygen.curve_per_min = -rate / over_bar;
            oxygen.inverse_l = set_point * (inert_l / over_bar - inert_lpm / rate);
            let square = oxygen.inverse_l * oxygen.curve_per_min / (at.inject_lpm - oxygen.lpm);
            until = Some((1.0 - libm::sqrt(square)) / oxygen.curve_per_min);
        }
        draws.push(oxygen);
        draws.push(Draw::steady(self.diluent, self.purpose(at.leg, Purpose::MakeUp), diluent_lpm));
        until
    }

    /// A full loop at one depth or on the way down, diluent taking up what it gains: `V − k·(Fd − set-point·w/P²)/(1 − Fd)`
    /// of oxygen. When none is needed any more, and when the diluent is too little.
    fn filling(&self, at: &Instant<'_>, set_point: f64, needed: f64, draws: &mut Draws) -> [Option<f64>; 2] {
        let (rate, bar) = (at.now.bar_per_min, at.now.bar);
        let (gain, inert) = (at.held.growth_lpm(), 1.0 - at.diluent.o2);
        let mut oxygen = self.oxygen(at, needed);
        let mut diluent =
            Draw::steady(self.diluent, self.purpose(at.leg, Purpose::MakeUp), gain + at.metabolic - needed);
        let mut untils = [None, None];
        if gain > 0.0 {
            let wet = set_point * LOOP_VAPOUR_BAR;
            oxygen.lpm = at.metabolic - gain * at.diluent.o2 / inert;
            diluent.lpm = gain / inert;
            oxygen.curve_per_min = -rate / bar;
            diluent.curve_per_min = oxygen.curve_per_min;
            // ∫ k·w·set-point/P² dt over 1 − Fd, oxygen more by it and diluent less.
            oxygen.inverse_l = -gain / rate * wet / bar / inert;
            diluent.inverse_l = -oxygen.inverse_l;
            let when = |square: f64| Some((libm::sqrt(square) - bar) / rate);
            untils[0] = when(wet / (at.diluent.o2 - at.metabolic * inert / gain));
            untils[1] = when(wet / (1.0 - at.make_up_lpm * inert / gain));
        }
        draws.push(oxygen);
        draws.push(diluent);
        untils
    }

    /// A full loop on the way up: `V + |k|·set-point·(P − w)/(P·(P − set-point))` of oxygen, in two parts,
    /// `w/P + (set-point − w)/(P − set-point)`. When the injector gives all it can.
    fn venting(&self, at: &Instant<'_>, set_point: f64, draws: &mut Draws) -> Option<f64> {
        let (rate, bar, wet) = (at.now.bar_per_min, at.now.bar, LOOP_VAPOUR_BAR);
        let per_bar = at.held.growth_lpm() / rate;
        let part = |log_l: f64, over_bar: f64| Draw { log_l, curve_per_min: -rate / over_bar, ..self.oxygen(at, 0.0) };
        draws.push(Draw { lpm: at.metabolic, ..part(per_bar * (set_point - wet), bar - set_point) });
        draws.push(part(per_bar * wet, bar));
        // spare·P·(P − set-point) = set-point·(P − w), the deeper of the two.
        let spare = (at.inject_lpm - at.metabolic) / -at.held.growth_lpm();
        let half = 0.5 * set_point * (spare + 1.0);
        let last_bar = (half + libm::sqrt(half * half - spare * set_point * wet)) / spare;
        Some((bar - last_bar) / -rate)
    }

    /// So much oxygen is injected until the partial pressure comes to the set-point.
    fn towards(&self, at: &Instant<'_>, inject_lpm: f64, set_point: f64) -> Regime {
        let all_oxygen = at.held.full && at.now.breathed.o2 >= ALL_OXYGEN * (1.0 - HAIR);
        let wanted = at.metabolic + at.held.growth_lpm().max(0.0);
        let inject_lpm = if all_oxygen { inject_lpm.min(wanted) } else { inject_lpm };
        let (mut regime, fed) = self.injecting(at, inject_lpm);
        if at.held.full && !all_oxygen && inject_lpm > 0.0 {
            regime.reaches(fed.balance.minutes_to_o2(ALL_OXYGEN), Crossing::Saturated);
        }
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
