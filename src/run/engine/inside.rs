//! How far a diver is under something overhead: a cave, a wreck, ice. The way out is the way in, swum back.

use std::sync::Arc;

use serde::Serialize;

use crate::physics::tolerance;
use crate::run::Work;

/// Which way a leg leads under something overhead.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Way {
    /// Farther in; where they are known, so many minutes from its end back to where the divers may go up, as fast as they came.
    In(Option<f64>),
    /// Back out: each of its minutes undoes so many of the way in.
    Out(f64),
    /// Somewhere from where the way back is known to take so many minutes at that depth.
    Known(f64),
}

/// A piece of the way in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayIn {
    /// The depth at its beginning, metres.
    pub from_m: f64,
    /// The depth at its end, metres.
    pub to_m: f64,
    /// Minutes it took.
    pub minutes: f64,
    /// How hard the diver worked.
    pub work: Work,
    /// The cylinders that were laid down at its end.
    pub laid: Laid,
}

/// Cylinders that were laid down, by their numbers; of more than [`Laid::MOST`] no further one is kept account of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Laid(u64);

impl Laid {
    /// So many cylinders are told apart.
    pub const MOST: usize = 64;

    /// Whether a cylinder is among them.
    pub const fn has(self, cylinder: usize) -> bool {
        cylinder < Laid::MOST && self.0 >> cylinder & 1 == 1
    }

    /// These and one more.
    #[must_use]
    pub const fn with(self, cylinder: usize) -> Laid {
        if cylinder < Laid::MOST { Laid(self.0 | 1 << cylinder) } else { self }
    }

    /// These but one.
    #[must_use]
    pub const fn without(self, cylinder: usize) -> Laid {
        if cylinder < Laid::MOST { Laid(self.0 & !(1 << cylinder)) } else { self }
    }

    /// Their numbers.
    pub fn cylinders(self) -> impl Iterator<Item = usize> {
        let most = if self.0 == 0 { 0 } else { Laid::MOST };
        (0..most).filter(move |cylinder| self.has(*cylinder))
    }
}

/// What lies between a diver and where they may go up.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Inside {
    /// The way in up to the beginning of the leg that is followed, from the entrance on.
    behind: Arc<[WayIn]>,
    going: Option<Going>,
}

/// The leg that is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Going {
    way: Way,
    /// The whole leg as a piece of the way in.
    leg: WayIn,
    /// Minutes of it that are over.
    over_min: f64,
}

impl Inside {
    /// Begins a leg: from the depth that the diver is at to its own.
    pub(in crate::run) fn begin(&mut self, way: Option<Way>, leg: WayIn) {
        self.going = way.map(|way| Going { way, leg, over_min: 0.0 });
    }

    /// Goes on for some minutes of the leg that was begun.
    pub(in crate::run) fn go_on(&mut self, minutes: f64) {
        if let Some(going) = &mut self.going {
            going.over_min += minutes;
        }
    }

    /// Ends the leg that was begun.
    pub(in crate::run) fn end(&mut self) {
        if !matches!(self.going, None | Some(Going { way: Way::Known(_), .. })) {
            self.behind = self.way_in(true).into();
        }
        self.going = None;
    }

    /// The way in as far as it is not undone, from the entrance on. What is known of the way back holds from the end of its leg
    /// on; before it, only where that is longer than the way in.
    fn way_in(&self, ended: bool) -> Vec<WayIn> {
        let mut pieces = self.behind.to_vec();
        match self.going {
            Some(Going { way: Way::In(known), leg, over_min }) => {
                let lasts = over_min.min(leg.minutes);
                let share = if leg.minutes > 0.0 { lasts / leg.minutes } else { 1.0 };
                pieces.push(WayIn { to_m: leg.from_m + (leg.to_m - leg.from_m) * share, minutes: lasts, ..leg });
                let whole: f64 = self.behind.iter().map(|piece| piece.minutes).sum::<f64>() + leg.minutes;
                if let Some(known) = known.filter(|_| whole > 0.0) {
                    let scale = if ended { known / whole } else { (known / whole).max(1.0) };
                    pieces.iter_mut().for_each(|piece| piece.minutes *= scale);
                }
            }
            Some(Going { way: Way::Out(undoes), over_min, .. }) => {
                let mut undone = undoes * over_min;
                while let Some(last) = pieces.last_mut() {
                    if undone < last.minutes - tolerance::MINUTES {
                        let left = last.minutes - undone;
                        last.to_m = last.from_m + (last.to_m - last.from_m) * left / last.minutes;
                        last.minutes = left;
                        // What lies at its end lies farther in than the diver now.
                        if undone > tolerance::MINUTES {
                            last.laid = Laid::default();
                        }
                        break;
                    }
                    undone -= last.minutes;
                    pieces.pop();
                }
            }
            _ => {}
        }
        pieces.retain(|piece| piece.minutes > tolerance::MINUTES);
        pieces
    }

    /// The way back, in the order it is swum: each piece from its end to its beginning. `now_m` is how deep the diver is.
    pub fn way_back(&self, now_m: f64) -> Vec<WayIn> {
        if let Some(Going { way: Way::Known(minutes), leg, .. }) = self.going {
            return if minutes > 0.0 { vec![WayIn { from_m: now_m, to_m: now_m, minutes, ..leg }] } else { Vec::new() };
        }
        if self.behind.is_empty() && self.going.is_none() {
            return Vec::new();
        }
        let mut back = self.way_in(false);
        back.reverse();
        back
    }

    /// A cylinder is laid down where the last leg ended.
    pub(in crate::run) fn lay_down(&mut self, cylinder: usize) {
        let mut pieces = self.behind.to_vec();
        if let Some(last) = pieces.last_mut() {
            last.laid = last.laid.with(cylinder);
        }
        self.behind = pieces.into();
    }

    /// A cylinder is taken up again.
    pub(in crate::run) fn take_up(&mut self, cylinder: usize) {
        let mut pieces = self.behind.to_vec();
        pieces.iter_mut().for_each(|piece| piece.laid = piece.laid.without(cylinder));
        self.behind = pieces.into();
    }

    /// Whether nothing is overhead.
    pub fn is_open(&self) -> bool {
        self.way_back(0.0).is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leg(from_m: f64, to_m: f64, minutes: f64) -> WayIn {
        WayIn { from_m, to_m, minutes, work: Work::default(), laid: Laid::default() }
    }

    fn back(inside: &Inside) -> Vec<(f64, f64)> {
        inside.way_back(0.0).into_iter().map(|piece| (piece.from_m, piece.minutes)).collect()
    }

    #[test]
    fn the_way_out_is_the_way_in_swum_back() {
        let mut inside = Inside::default();
        inside.begin(Some(Way::In(None)), leg(6.0, 20.0, 7.0));
        inside.go_on(7.0);
        inside.end();
        inside.begin(Some(Way::In(None)), leg(20.0, 10.0, 10.0));
        inside.go_on(4.0);
        assert_eq!(back(&inside), [(20.0, 4.0), (6.0, 7.0)]);
        assert_eq!(inside.way_back(0.0).first().map(|piece| piece.to_m), Some(16.0));
        // Looking about leaves it as it is.
        inside.go_on(6.0);
        inside.end();
        inside.begin(None, leg(10.0, 10.0, 5.0));
        inside.go_on(5.0);
        inside.end();
        assert_eq!(back(&inside), [(20.0, 10.0), (6.0, 7.0)]);
        // Half the minutes out each undo twice as many.
        inside.begin(Some(Way::Out(2.0)), leg(10.0, 6.0, 8.5));
        inside.go_on(6.0);
        assert_eq!(back(&inside), [(6.0, 5.0)]);
        inside.go_on(2.5);
        inside.end();
        assert!(inside.is_open());
    }

    /// 20 minutes in, the way back known to take 30 by hand, then 15 of them out: 15 are left. A way back of 10 holds at the
    /// end, not before.
    #[test]
    fn a_way_in_is_swum_back_in_the_minutes_that_are_known() {
        let minutes = |inside: &Inside| inside.way_back(0.0).iter().map(|piece| piece.minutes).sum::<f64>();
        for (known, halfway) in [(30.0, 15.0), (10.0, 10.0)] {
            let mut inside = Inside::default();
            inside.begin(Some(Way::In(Some(known))), leg(18.0, 18.0, 20.0));
            inside.go_on(10.0);
            assert_eq!(minutes(&inside), halfway);
            inside.go_on(10.0);
            inside.end();
            assert_eq!(minutes(&inside), known);
            inside.begin(Some(Way::Out(1.0)), leg(18.0, 18.0, known));
            inside.go_on(known / 2.0);
            assert!((minutes(&inside) - known / 2.0).abs() < 1e-9);
        }
    }

    /// Laid down ten minutes in, a cylinder lies on the way back from farther in, and no more once that is passed.
    #[test]
    fn what_was_laid_down_lies_on_the_way_back() {
        let mut inside = Inside::default();
        for _ in 0..2 {
            inside.begin(Some(Way::In(None)), leg(18.0, 18.0, 10.0));
            inside.go_on(10.0);
            inside.end();
            if inside.behind.len() == 1 {
                inside.lay_down(3);
            }
        }
        let lies = |inside: &Inside| inside.way_back(18.0).iter().map(|piece| piece.laid.has(3)).collect::<Vec<_>>();
        assert_eq!(lies(&inside), [false, true]);
        inside.begin(Some(Way::Out(1.0)), leg(18.0, 18.0, 12.0));
        inside.go_on(9.0);
        assert_eq!(lies(&inside), [false, true]);
        inside.go_on(3.0);
        inside.end();
        assert_eq!(lies(&inside), [false]);
    }

    #[test]
    fn a_known_way_back_holds_for_its_leg_alone() {
        let mut inside = Inside::default();
        inside.begin(Some(Way::Known(3.0)), leg(18.0, 18.0, 10.0));
        assert_eq!(inside.way_back(18.0), [leg(18.0, 18.0, 3.0)]);
        inside.go_on(10.0);
        assert!(!inside.is_open());
        inside.end();
        assert!(inside.is_open());
    }
}
