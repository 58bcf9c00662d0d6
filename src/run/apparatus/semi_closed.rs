//! A semi-closed loop: a supply mix is fed to it, always on and/or opened by an oxygen controller, and what it can't hold
//! is vented.

use serde::Serialize;

use super::volume::{Supplied, sane_loop};
use crate::physics::loop_balance::{Feed, feed_that_holds_lpm};
use crate::physics::{Mix, SetPoint};
use crate::run::{Breathing, ClockFloor, Crossing, Draw, Draws, EventKind, Leg, Purpose, Regime, Scrubber, State, Why};

/// A semi-closed loop.
///
/// The controller is idealised: shut above the set-point, full open below it, and at the set-point what holds it as the
/// time-mean of an on/off valve. A real loop swings about it by [`crate::run::Limits::band_o2`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SemiClosed {
    /// Counterlungs, beds and lungs, litres.
    pub loop_l: f64,
    /// The feeds.
    pub feed: Feed,
    /// The most that the make-up valve gives, free litres a minute; 0 without one, infinite where nothing bounds it.
    pub make_up_lpm: f64,
    /// The cylinder that supplies both.
    pub supply: usize,
    /// What takes carbon dioxide out.
    pub scrubber: Scrubber,
}

/// Gas coming into the loop, free litres a minute.
#[derive(Debug, Clone, Copy)]
struct Inflow {
    feed_lpm: f64,
    make_up_lpm: f64,
}

impl Inflow {
    fn total_lpm(self) -> f64 {
        self.feed_lpm + self.make_up_lpm
    }
}

impl Breathing for SemiClosed {
    fn regime(&self, now: &State, leg: &Leg) -> Regime {
        let metabolic = leg.work.oxygen_lpm;
        let held = Supplied::of(now, self.loop_l);
        let mix = now.mix_that_flows(self.supply);
        let supply = mix.unwrap_or(Mix { o2: 0.0, he: 0.0 });
        let (feed, make_up_lpm) = match mix {
            Some(_) => (self.feed, self.make_up_lpm),
            None => (Feed::default(), 0.0),
        };
        let inflow = |controlled: f64| {
            let feed_lpm = feed.constant_lpm + controlled;
            Inflow { feed_lpm, make_up_lpm: held.make_up(metabolic, feed_lpm, make_up_lpm) }
        };
        let greatest = feed.controlled_lpm;
        let controlled = now.set_point.and_then(SetPoint::fraction).filter(|_| greatest > 0.0);
        let o2 = now.breathed.o2;
        let mut notice = None;
        let (flow, target) = match controlled {
            None => (inflow(0.0), None),
            Some(set_point) if o2 > set_point => (inflow(0.0), Some(set_point)),
            Some(set_point) if o2 < set_point => (inflow(greatest), Some(set_point)),
            Some(set_point) => {
                let holds = feed_that_holds_lpm(set_point, supply.o2, metabolic).unwrap_or(f64::INFINITY);
                if inflow(0.0).total_lpm() >= holds {
                    (inflow(0.0), Some(set_point))
                } else if inflow(greatest).total_lpm() < holds {
                    notice = Some(EventKind::ValveSaturated);
                    (inflow(greatest), Some(set_point))
                } else {
                    // A loop that asks for more volume than holds the set-point has its make-up wide open.
                    let wanting = !held.full || holds < held.room(metabolic);
                    let make_up = if wanting { make_up_lpm.min(holds - feed.constant_lpm).max(0.0) } else { 0.0 };
                    (Inflow { feed_lpm: holds - make_up, make_up_lpm: make_up }, None)
                }
            }
        };
        let holding = target.is_none() && controlled.is_some();
        let (breath, gone) =
            held.breath(now, flow.total_lpm(), flow.total_lpm() * supply.o2, supply.he, metabolic, holding);
        let mut draws = Draws::none();
        let purpose = if leg.why == Why::PreBreathe { Purpose::PreBreathe } else { Purpose::Feed };
        draws.push(Draw::steady(self.supply, purpose, flow.feed_lpm));
        draws.push(Draw::steady(self.supply, Purpose::MakeUp, flow.make_up_lpm));
        let mut regime = Regime::of(breath.loop_of(), draws).scrubbed(&self.scrubber, metabolic);
        regime.notice = notice;
        if let Some(set_point) = controlled {
            regime.clock_floor = ClockFloor::Fraction(set_point);
        }
        if let Some(set_point) = target {
            regime.reaches(breath.balance.minutes_to_o2(set_point), Crossing::SetPoint);
        }
        regime.reaches(gone, Crossing::OxygenGone);
        held.watch_volume(&mut regime, breath.balance.gain_lpm);
        regime
    }

    fn is_sane(&self) -> bool {
        let flow = |lpm: f64| (0.0..=1e4).contains(&lpm);
        sane_loop(self.loop_l)
            && flow(self.feed.constant_lpm)
            && flow(self.feed.controlled_lpm)
            && self.make_up_lpm >= 0.0
            && self.scrubber.is_sane()
    }

    fn cross(&self, now: &mut State, event: Crossing) -> Option<EventKind> {
        match event {
            Crossing::SetPoint => {
                now.breathed.o2 = now.set_point?.fraction()?;
                Some(EventKind::SetPointReached)
            }
            Crossing::TakenUp => {
                if self.make_up_lpm > 0.0 {
                    now.refill(self.loop_l, self.supply);
                }
                None
            }
            Crossing::Flush(volumes) => {
                now.flush(self.supply, volumes);
                Some(EventKind::Flushed)
            }
            other => super::volume::cross_volume(now, self.loop_l, other),
        }
    }
}
