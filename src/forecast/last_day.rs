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

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::archive::{Archive, Memory};
    use crate::forecast::{Day, dives};
    use crate::source::FileId;

    const PLAN: &str = r#"plan "x" on="2027-05-15" status=draft {
        site "Greyfen quarry" water=fresh altitude=0 temperature=10
        limits { gradient low=45 high=80; }
        dive "one" { descend 25 rate=20; stay 40 work=light; ascend; diver "Rowan" back="D"; }
    }
    diver "Rowan" { gas rest=15 peak=55; }
    cylinder "D" size=40 working=232 { fill 230 on="2027-05-14" o2=36 analysed=36; }
    "#;

    fn ran() -> Arc<Simulation> {
        let host = Memory::new().file("/club/a.plan.kdl", PLAN);
        let (archive, file) = (Archive::open(Arc::new(host), Path::new("/club")), FileId::new("a.plan.kdl"));
        let (plan, scope) = (archive.plan(&file).unwrap(), archive.scope(&file));
        let day = Day::of(&scope, archive.runs(), &plan, &[]);
        day.dive(&dives::of(&plan)[0]).unwrap().ran
    }

    /// The greatest of what both take in any 24 hours that end within the dive, by trying each second, is what is carried, or
    /// less by no more than a minute of both.
    #[test]
    fn it_is_the_greatest_of_any_24_hours() {
        let ran = ran();
        let track = ran.rich_mix();
        let (own, ends) = (|t_min: f64| track.at(t_min).exposure.day, ran.track.end.t_min);
        assert!(own(ends) > 0.05, "there is something to count");
        for times in [1.0, 1.5] {
            // Before the window, in it, leaving it while the next dive goes, and gone.
            for ago_min in [100.0, DAY_MIN - 60.0, DAY_MIN - 20.0, DAY_MIN, DAY_MIN + 20.0, DAY_MIN + 300.0] {
                let recent = [Recent { ran: ran.clone(), times, ago_min }];
                let before = |t_min: f64| {
                    let window = t_min - DAY_MIN + ago_min;
                    let gone = if window <= 0.0 { 0.0 } else { own(window.min(ends)) };
                    times * (own(ends) - gone)
                };
                let seconds = (0..=(ends * 60.0) as u32).map(|second| f64::from(second) / 60.0);
                let most = seconds.map(|t_min| own(t_min) + before(t_min)).fold(0.0, f64::max) - own(ends);
                let carried = carried(&recent, &ran);
                let minute = (1.0 + times) * own(ends) / ends * 3.0;
                assert!(carried >= most - 1e-9 && carried <= most + minute, "{ago_min}: {carried} {most} {minute}");
                assert_eq!(recent[0].counts(), ago_min - ends < DAY_MIN);
            }
        }
        let planned = own(ends);
        for (day, times) in [(2.0 * planned, 2.0), (0.5 * planned, 1.0)] {
            assert!((Recent::of(&ran, day).times - times).abs() < 1e-12, "a record counts where it says more");
        }
    }
}
