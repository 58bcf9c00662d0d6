//! A semi-closed loop: a supply mix is fed to it, always on and/or opened by an oxygen controller, and what it can't hold
//! is vented.

use serde::Serialize;

use super::volume::{Fed, Supplied, sane_loop};
use crate::physics::loop_balance::{Feed, feed_that_holds_lpm};
use crate::physics::roots;
use crate::physics::{Mix, SetPoint};
use crate::run::{Breathing, ClockFloor, Crossing, Draw, Draws, EventKind, Leg, Purpose, Regime, Scrubber, State, Why};

/// A semi-closed loop.
///
/// The controller is idealised: shut above the set-point, full open below it, and at the set-point what holds it as the
/// time-mean of an on/off valve. A real loop swings about it by [`crate::run::Limits::band_o2`]. A set-point is a fraction,
/// or a partial pressure: on a change of depth the flow that holds a pressure changes all the way, and is reckoned anew every
/// second or so.
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

/// For so long a flow that holds a partial pressure on a change of depth is taken as constant, minutes. The one for the
/// middle of the time is taken, which leaves the pressure right at its end, and some 1e-6 bar off within.
const HELD_MIN: f64 = 0.02;
/// A loop this close to a partial pressure that it is held at is at it, bar.
const AT_BAR: f64 = 1e-4;

/// How far a loop's oxygen is above a set-point, in the set-point's own measure.
fn above(set_point: SetPoint, o2: f64, bar: f64) -> f64 {
    match set_point {
        SetPoint::Fraction(held) => o2 - held,
        SetPoint::Bar(held) => o2 * bar - held,
    }
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

/// What the controller is asked for.
#[derive(Debug, Clone, Copy)]
enum Asked {
    /// The loop is above the set-point.
    Less,
    /// It is below it.
    More,
    /// It is at it.
    Held(SetPoint),
}

impl Asked {
    fn of(now: &State, set_point: SetPoint) -> Asked {
        let within = match set_point {
            SetPoint::Fraction(_) => 0.0,
            SetPoint::Bar(_) => AT_BAR,
        };
        match above(set_point, now.breathed.o2, now.bar) {
            off if off > within => Asked::Less,
            off if off < -within => Asked::More,
            _ => Asked::Held(set_point),
        }
    }
}

/// What ends a regime of the controller.
#[derive(Debug, Clone, Copy)]
enum Ends {
    /// There is none.
    Never,
    /// The set-point is reached.
    AtSetPoint,
    /// The loop leaves the set-point, and comes back to it.
    BackAtSetPoint,
    /// The set-point is held; a pressure on a change of depth by a flow that is reckoned anew after [`HELD_MIN`].
    Held(SetPoint),
}

/// Minutes until a set-point is reached that the loop is not at.
fn first(now: &State, leg: &Leg, breath: Fed, set_point: SetPoint) -> Option<f64> {
    match set_point {
        SetPoint::Fraction(o2) => breath.balance.minutes_to_o2(o2),
        SetPoint::Bar(po2_bar) => breath.loop_of().first_at(now.bar, now.bar_per_min, leg.lasts_min, po2_bar),
    }
}

/// Minutes until a loop that leaves its set-point is back at it: only where its partial pressure turns round.
fn back(now: &State, leg: &Leg, breath: Fed, set_point: SetPoint) -> Option<f64> {
    let (SetPoint::Bar(po2_bar), breath) = (set_point, breath.loop_of()) else { return None };
    let off = |minutes: f64| {
        let bar = now.bar + now.bar_per_min * minutes;
        breath.o2_at(minutes, bar) * bar - po2_bar
    };
    let turn = breath.turning(now.bar, now.bar_per_min, leg.lasts_min)?;
    roots::zero(turn, leg.lasts_min, off).filter(|_| off(turn).abs() > AT_BAR)
}

impl SemiClosed {
    /// What must come in to hold a set-point for so many minutes to come, free litres a minute; infinite where the supply is
    /// no richer. On a change of depth a partial pressure that is off by so much at the start is right again at the end:
    /// `P·dF/dt = −F·dP/dt − off/minutes`, in the middle of the time.
    fn that_holds_lpm(
        &self,
        now: &State,
        set_point: SetPoint,
        supply_o2: f64,
        metabolic: f64,
        minutes: f64,
        off_bar: f64,
    ) -> f64 {
        let rate = now.bar_per_min;
        let o2 = match set_point {
            SetPoint::Fraction(o2) => o2,
            SetPoint::Bar(_) if rate == 0.0 => now.breathed.o2,
            SetPoint::Bar(po2_bar) => po2_bar / (now.bar + 0.5 * rate * minutes),
        };
        let steady = feed_that_holds_lpm(o2, supply_o2, metabolic).unwrap_or(f64::INFINITY);
        if rate == 0.0 || matches!(set_point, SetPoint::Fraction(_)) || !steady.is_finite() {
            return steady;
        }
        let held = Supplied::of(now, self.loop_l);
        let growth = if held.full { held.growth_lpm() } else { 0.0 };
        let (bar, litres) = (now.bar + 0.5 * rate * minutes, held.litres() + 0.5 * growth * minutes);
        let falls = (o2 * rate + off_bar / minutes) / bar;
        // Less than nothing where the depth alone carries the loop over.
        (metabolic * (1.0 - o2) - litres * falls) / (supply_o2 - o2)
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
        let controlled = now.set_point.filter(|_| greatest > 0.0);
        let mut notice = None;
        let (flow, ends) = match controlled.map(|set_point| Asked::of(now, set_point)) {
            None => (inflow(0.0), Ends::Never),
            Some(Asked::Less) => (inflow(0.0), Ends::AtSetPoint),
            Some(Asked::More) => (inflow(greatest), Ends::AtSetPoint),
            Some(Asked::Held(set_point)) => {
                let within_min = leg.lasts_min.min(HELD_MIN);
                let lpm = |off_bar: f64| self.that_holds_lpm(now, set_point, supply.o2, metabolic, within_min, off_bar);
                // Whether it can be held is asked of a loop that is on the set-point to the last digit.
                let (holds, settles) = (lpm(0.0), lpm(above(set_point, now.breathed.o2, now.bar)));
                let (shut, open) = (inflow(0.0), inflow(greatest));
                if shut.total_lpm() >= holds {
                    (shut, Ends::BackAtSetPoint)
                } else if open.total_lpm() < holds {
                    notice = Some(EventKind::ValveSaturated);
                    (open, Ends::BackAtSetPoint)
                } else {
                    let lpm = if now.bar_per_min == 0.0 { holds } else { settles };
                    let lpm = lpm.max(shut.total_lpm()).min(open.total_lpm());
                    // A loop that asks for more volume than holds the set-point has its make-up wide open.
                    let wanting = !held.full || lpm < held.room(metabolic);
                    let make_up = if wanting { make_up_lpm.min(lpm - feed.constant_lpm).max(0.0) } else { 0.0 };
                    (Inflow { feed_lpm: lpm - make_up, make_up_lpm: make_up }, Ends::Held(set_point))
                }
            }
        };
        let steady = match ends {
            Ends::Held(SetPoint::Fraction(_)) => true,
            Ends::Held(SetPoint::Bar(_)) => now.bar_per_min == 0.0,
            _ => false,
        };
        let (breath, gone) =
            held.breath(now, flow.total_lpm(), flow.total_lpm() * supply.o2, supply.he, metabolic, steady);
        let mut draws = Draws::none();
        let purpose = if leg.why == Why::PreBreathe { Purpose::PreBreathe } else { Purpose::Feed };
        draws.push(Draw::steady(self.supply, purpose, flow.feed_lpm));
        draws.push(Draw::steady(self.supply, Purpose::MakeUp, flow.make_up_lpm));
        let mut regime = Regime::of(breath.loop_of(), draws).scrubbed(&self.scrubber, metabolic);
        regime.notice = notice;
        if let Some(set_point) = controlled {
            regime.clock_floor = match set_point {
                SetPoint::Fraction(o2) => ClockFloor::Fraction(o2),
                SetPoint::Bar(po2_bar) => ClockFloor::Bar(po2_bar),
            };
            match ends {
                Ends::AtSetPoint => regime.reaches(first(now, leg, breath, set_point), Crossing::SetPoint),
                Ends::BackAtSetPoint => regime.reaches(back(now, leg, breath, set_point), Crossing::SetPoint),
                Ends::Held(_) if !steady => regime.reaches(Some(HELD_MIN), Crossing::Saturated),
                Ends::Held(_) | Ends::Never => {}
            }
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
                now.breathed.o2 = match now.set_point? {
                    SetPoint::Fraction(o2) => o2,
                    SetPoint::Bar(po2_bar) => (po2_bar / now.bar).min(1.0),
                };
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
