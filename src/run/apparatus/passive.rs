//! A passive loop: each breath spills a share of itself, and a supply mix makes up for what is missing.

use serde::Serialize;

use super::volume::{Supplied, cross_volume, sane_loop};
use crate::physics::Mix;
use crate::physics::loop_gas::{dry_bar, free_l_per_bar};
use crate::physics::passive::{Spill, spill_lpm_per_bar};
use crate::run::{Breath, Breathing, Crossing, Draw, Draws, EventKind, Leg, Purpose, Regime, Scrubber, State, Why};

/// A passive loop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Passive {
    /// Counterlungs, beds and lungs, litres.
    pub loop_l: f64,
    /// One part in this many of each breath is spilled.
    pub ratio: f64,
    /// Whether depth doesn't change the spill.
    pub compensated: bool,
    /// The cylinder that makes up for it.
    pub supply: usize,
    /// Whether its addition valve works.
    pub adds: bool,
    /// What takes carbon dioxide out.
    pub scrubber: Scrubber,
}

impl Breathing for Passive {
    fn regime(&self, now: &State, leg: &Leg) -> Regime {
        let metabolic = leg.work.oxygen_lpm;
        let held = Supplied::of(now, self.loop_l);
        // Of an empty loop nothing is spilled.
        let per_bar = if held.is_empty() { 0.0 } else { spill_lpm_per_bar(metabolic, self.ratio) };
        let (spill, growing) = if self.compensated {
            (per_bar * dry_bar(1.0), 0.0)
        } else {
            (per_bar * dry_bar(now.bar), per_bar * now.bar_per_min)
        };
        let mix = now.mix_that_flows(self.supply).filter(|_| self.adds);
        let room = held.room(metabolic);
        // A hair is given so that an event just crossed is not seen again.
        let open = spill + room > 1e-9 * (spill + room.abs()) || spill + room == 0.0 && growing >= 0.0;
        let mut draws = Draws::none();
        let regime = match mix {
            Some(mix) if held.full && open => {
                let spare = if room < 0.0 { room } else { 0.0 };
                draws.push(Draw::growing(self.supply, self.purpose(leg, Purpose::Spill), spill + spare, growing));
                draws.push(Draw::steady(self.supply, self.purpose(leg, Purpose::MakeUp), room - spare));
                if self.compensated {
                    let total = spill + room;
                    let (fed, gone) = held.breath(now, total, total * mix.o2, mix.he, metabolic, false);
                    let mut regime = Regime::of(fed.loop_of(), draws);
                    regime.reaches(gone, Crossing::OxygenGone);
                    regime
                } else {
                    self.spilling(now, leg, per_bar, mix, draws)
                }
            }
            _ => {
                // Nothing comes in: a way up fast enough to fill the loop of itself, or nothing there to add. A loop that
                // is short though there is gas fills up first.
                let adding = mix.filter(|_| !held.full);
                let total = adding.map_or(0.0, |_| held.make_up(metabolic, 0.0, f64::INFINITY));
                let supply = adding.map_or((0.0, 0.0), |mix| (mix.o2, mix.he));
                draws.push(Draw::steady(self.supply, self.purpose(leg, Purpose::MakeUp), total));
                let (mut fed, _) = held.breath(now, total, total * supply.0, supply.1, metabolic, false);
                let lost = fed.balance.wash_lpm - spill;
                let rests_full = held.full && lost >= held.growth_lpm() && growing <= 0.0;
                fed.balance.gain_lpm = if rests_full { held.growth_lpm() } else { lost };
                fed.balance.gain_lpm_per_min = if rests_full { 0.0 } else { -growing };
                let mut regime = Regime::of(fed.loop_of(), draws);
                let gone = fed.balance.minutes_to_o2(0.0).filter(|_| fed.balance.o2 > 0.0);
                regime.reaches(gone, Crossing::OxygenGone);
                if fed.balance.gain_lpm_per_min == 0.0 {
                    held.watch_volume(&mut regime, fed.balance.gain_lpm);
                } else {
                    held.watch_parabola(&mut regime, &fed.balance);
                }
                regime
            }
        };
        regime.scrubbed(&self.scrubber, metabolic)
    }

    fn is_sane(&self) -> bool {
        sane_loop(self.loop_l) && self.ratio >= 1.0 && self.scrubber.is_sane()
    }

    fn cross(&self, now: &mut State, event: Crossing) -> Option<EventKind> {
        match event {
            Crossing::TakenUp => {
                if self.adds {
                    now.refill(self.loop_l, self.supply);
                }
                None
            }
            Crossing::Flush(volumes) => {
                now.flush(self.supply, volumes);
                Some(EventKind::Flushed)
            }
            other => cross_volume(now, self.loop_l, other),
        }
    }
}

impl Passive {
    fn purpose(&self, leg: &Leg, purpose: Purpose) -> Purpose {
        if leg.why == Why::PreBreathe { Purpose::PreBreathe } else { purpose }
    }

    /// The regime of a full loop whose spill goes with depth.
    fn spilling(&self, now: &State, leg: &Leg, per_bar: f64, mix: Mix, draws: Draws) -> Regime {
        let metabolic = leg.work.oxygen_lpm;
        // Without oxygen the body takes what comes in, until more comes in than it takes: on the way down.
        let growth_lpm = free_l_per_bar(self.loop_l) * now.bar_per_min;
        let coming_lpm = (per_bar * dry_bar(now.bar) + metabolic + growth_lpm) * mix.o2;
        let gone = now.breathed.o2 <= 0.0 && coming_lpm < metabolic * (1.0 - 1e-12);
        let spill = Spill {
            o2: now.breathed.o2,
            bar: now.bar,
            bar_per_min: now.bar_per_min,
            free_l_per_bar: free_l_per_bar(self.loop_l),
            spill_lpm_per_bar: per_bar,
            supply_o2: mix.o2,
            metabolic_lpm: metabolic,
            gone,
        };
        let mut regime = Regime::of(Breath::Spilling { spill, he: now.breathed.he, supply_he: mix.he }, draws);
        if gone && now.bar_per_min > 0.0 {
            let growing = per_bar * now.bar_per_min * mix.o2;
            regime.reaches(Some((metabolic - coming_lpm) / growing), Crossing::Saturated);
        }
        if now.bar_per_min < 0.0 {
            // On the way up the spill shrinks; where it no longer takes what the loop gains, nothing comes in.
            let room = metabolic + growth_lpm;
            regime.reaches(Some((dry_bar(now.bar) + room / per_bar) / -now.bar_per_min), Crossing::Saturated);
        }
        regime.reaches(spill.minutes_to_no_oxygen(leg.lasts_min), Crossing::OxygenGone);
        regime
    }
}
