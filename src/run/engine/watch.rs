//! What happens on a dive, and when: found in closed form, told in order.

use crate::physics::roots;
use crate::run::{Breath, EventKind, Limits, Segment, State, Track};

impl Track {
    /// Tells what a segment crosses.
    pub(in crate::run) fn watch(&mut self, segment: &Segment, end: &State, limits: &Limits) {
        let (t, minutes, rate) = (segment.start.t_min, segment.minutes, segment.start.bar_per_min);
        let breath = &segment.regime.breath;
        let limits = &Limits { greatest_bar: segment.greatest_bar(limits), ..*limits };
        let on_loop = !matches!(breath, Breath::Open(_));
        let bar = segment.start.bar;
        let start = (segment.po2_at(0.0), on_loop.then(|| breath.o2_at(0.0, bar)));
        let finish = (segment.po2_at(minutes), on_loop.then(|| breath.o2_at(minutes, segment.bar_at(minutes))));
        if let Some(last) = self.last {
            self.cross_po2(last.0, start.0, limits, |_| Some(t));
            if let (Some(before), Some(after)) = (last.1, start.1) {
                self.cross_floor(before, after, limits, |_| Some(t));
            }
        }
        self.last = Some(finish);
        let turn = breath.turning(bar, rate, minutes);
        let cuts = [Some(0.0), turn, Some(minutes)];
        let mut from = (0.0, start.0);
        for to in cuts.into_iter().flatten().skip(1) {
            let to = (to, if to == minutes { finish.0 } else { segment.po2_at(to) });
            self.cross_po2(from.1, to.1, limits, |value| {
                let exact = if rate == 0.0 { breath.first_at(bar, rate, minutes, value) } else { None };
                let at = exact.or_else(|| roots::zero(from.0, to.0, |minutes| segment.po2_at(minutes) - value));
                at.map(|at| t + at)
            });
            from = to;
        }
        if let (Some(before), Some(after)) = (start.1, finish.1) {
            self.cross_floor(before, after, limits, |value| {
                let fraction = |minutes: f64| breath.o2_at(minutes, segment.bar_at(minutes)) - value;
                let exact = match breath {
                    Breath::Loop { balance, .. } => balance.minutes_to_o2(value).filter(|at| *at <= minutes),
                    _ => None,
                };
                exact.or_else(|| roots::zero(0.0, minutes, fraction)).map(|at| t + at)
            });
        }
        self.watch_kit(segment, end);
        let before = segment.start.exposure;
        let after = end.exposure;
        if before.absorbent_min < limits.absorbent_min && after.absorbent_min >= limits.absorbent_min {
            let share = (limits.absorbent_min - before.absorbent_min) / (after.absorbent_min - before.absorbent_min);
            self.tell(t + share * minutes, EventKind::AbsorbentSpent);
        }
        if before.clock < 1.0 && after.clock >= 1.0 {
            let over = |minutes: f64| before.after(segment.along(), minutes).clock - 1.0;
            if let Some(at) = roots::zero(0.0, minutes, over) {
                self.tell(t + at, EventKind::ClockSpent);
            }
        }
    }

    /// Tells the reserves a segment comes to, and the mixes that depth opens or shuts.
    fn watch_kit(&mut self, segment: &Segment, end: &State) {
        let (t, minutes, rate, bar) =
            (segment.start.t_min, segment.minutes, segment.start.bar_per_min, segment.start.bar);
        for (index, kit) in segment.start.kit.iter().enumerate() {
            let (Some(before), Some(after)) = (segment.start.litres.get(index), end.litres.get(index)) else {
                continue;
            };
            if *before > kit.reserve_l && *after <= kit.reserve_l {
                let drawn = {
                    let others_l = |minutes: f64| segment.start.others_l(index, minutes);
                    segment.regime.draws.minutes_to_draw(index, before - kit.reserve_l, minutes, others_l)
                };
                self.tell(t + drawn.unwrap_or(minutes), EventKind::CylinderReserve(index));
            }
            if rate == 0.0 || kit.mix.o2 <= 0.0 {
                continue;
            }
            let top = kit.filled.greatest_po2_bar / kit.mix.o2;
            let (before, after) = (bar <= top, bar + rate * minutes <= top);
            if before != after {
                let kind = if after { EventKind::MixBreathable(index) } else { EventKind::MixUnbreathable(index) };
                self.tell(t + (top - bar) / rate, kind);
            }
        }
    }

    fn cross_po2(&mut self, from: f64, to: f64, limits: &Limits, when: impl Fn(f64) -> Option<f64>) {
        let watched = [
            (limits.least_bar, EventKind::OxygenLow, Some(EventKind::OxygenRegained)),
            (limits.faint_bar, EventKind::Faint, None),
        ];
        for (value, falls, rises) in watched {
            let kind = if from >= value && to < value {
                Some(falls)
            } else if from < value && to >= value {
                rises
            } else {
                None
            };
            if let (Some(kind), Some(t_min)) = (kind, kind.and_then(|_| when(value))) {
                self.tell(t_min, kind);
            }
        }
        let greatest = limits.greatest_bar;
        let kind = if from <= greatest && to > greatest {
            Some(EventKind::OxygenHigh)
        } else if from > greatest && to <= greatest {
            Some(EventKind::OxygenHighOver)
        } else {
            None
        };
        if let (Some(kind), Some(t_min)) = (kind, kind.and_then(|_| when(greatest))) {
            self.tell(t_min, kind);
        }
    }

    fn cross_floor(&mut self, from: f64, to: f64, limits: &Limits, when: impl Fn(f64) -> Option<f64>) {
        let floor = limits.floor_o2;
        let kind = if from >= floor && to < floor {
            EventKind::BelowFloor
        } else if from < floor && to >= floor {
            EventKind::FloorRegained
        } else {
            return;
        };
        if let Some(t_min) = when(floor) {
            self.tell(t_min, kind);
        }
    }
}
