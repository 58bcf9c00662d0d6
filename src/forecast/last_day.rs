//! Oxygen of the last 24 hours: a window that slides on as the next dive goes, and leaves the dives of yesterday piece by
//! piece.

use std::sync::Arc;

use super::Simulation;
use super::timeline::DAY_MIN;

/// Pieces that a dive is cut into at most; what no dive that is planned comes near to.
const MOST_PIECES: f64 = 2000.0;

/// An earlier dive of a diver's.
#[derive(Debug, Clone)]
pub(super) struct Recent {
    ran: Arc<Simulation>,
    /// How much more the record of it says than was planned: at least 1.
    times: f64,
    /// Minutes since it left the surface, when the next dive does.
    pub ago_min: f64,
}

impl Recent {
    /// A dive that was run, and the share of the day's limit that counts for it.
    pub(super) fn of(ran: &Arc<Simulation>, day: f64) -> Recent {
        let planned = ran.rich_mix().exposure().day;
        Recent { ran: ran.clone(), times: if planned > 0.0 { (day / planned).max(1.0) } else { 1.0 }, ago_min: 0.0 }
    }

    /// Whether some of it may still count for a dive that begins now.
    pub(super) fn counts(&self) -> bool {
        self.ago_min - self.ran.track.end.t_min < DAY_MIN
    }

    /// What of it lies within 24 hours before so many minutes of the next dive, a share of the day's limit.
    fn left(&self, t_min: f64) -> f64 {
        let track = self.ran.rich_mix();
        let begins = t_min - DAY_MIN + self.ago_min;
        let gone = if begins <= track.start().t_min { 0.0 } else { track.at(begins).exposure.day };
        (track.exposure().day - gone).max(0.0) * self.times
    }

    /// Whether the window has left some of it after so many minutes of the next dive.
    fn is_left_behind(&self, t_min: f64) -> bool {
        t_min - DAY_MIN + self.ago_min > self.ran.rich_mix().start().t_min
    }
}

/// What earlier dives add to a dive's own share of the day's limit: what makes of that the greatest sum over any 24 hours
/// that end within the dive, over by no more than a minute of it.
pub(super) fn carried(recent: &[Recent], ran: &Simulation) -> f64 {
    let ends = ran.track.end.t_min;
    if !recent.iter().any(|dive| dive.is_left_behind(ends)) {
        return recent.iter().map(|dive| dive.left(ends)).sum();
    }
    let track = ran.rich_mix();
    let begins = track.start().t_min;
    let own = |t_min: f64| track.at(t_min).exposure.day;
    let pieces = (ends - begins).ceil().clamp(1.0, MOST_PIECES);
    let at = |piece: f64| begins + (ends - begins) * piece / pieces;
    // Within a piece the dive takes more and the window leaves more: both at their greatest is on the safe side.
    let most = (0..pieces as u32).map(|piece| {
        let earlier: f64 = recent.iter().map(|dive| dive.left(at(f64::from(piece)))).sum();
        own(at(f64::from(piece) + 1.0)) + earlier
    });
    most.fold(0.0, f64::max) - own(ends)
}
