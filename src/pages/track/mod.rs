//! A dive as it would go: asked at instants, for other programs and for people.

pub(crate) mod instant;
pub(crate) mod json;
pub(crate) mod table;
mod text;

pub(crate) use text::{PURPOSES, margin_text, name, text, trouble, unending};

use crate::forecast::Simulated;
use crate::physics::tolerance;

/// The tracks of a page and how often they are sampled.
#[derive(Debug)]
pub(crate) struct Tracks<'a> {
    /// The dives, in the plan's order.
    pub dives: Vec<Simulated<'a>>,
    /// Seconds from one sample to the next.
    pub every_s: u32,
}

impl Tracks<'_> {
    /// The instants at which a dive is asked, minutes since leaving the surface: its start, every so many seconds of run
    /// time, and its end.
    pub(crate) fn instants<'d>(&self, dive: &'d Simulated<'_>) -> impl Iterator<Item = f64> + use<'d> {
        let track = &dive.ran.track;
        let (begins, ends) = (track.start().t_min, track.end.t_min);
        let every_min = f64::from(self.every_s.max(1)) / 60.0;
        // Counted, not summed, so that nothing drifts; what falls on the start or the end by rounding is that.
        let first = (begins / every_min).floor() as i64 + 1;
        let last = (ends / every_min).ceil() as i64;
        let between = (first..last).map(move |count| count as f64 * every_min);
        let between =
            between.filter(move |t| *t > begins + tolerance::INSTANT_MIN && *t < ends - tolerance::INSTANT_MIN);
        let end = (ends > begins).then_some(ends);
        std::iter::once(begins).chain(between).chain(end)
    }
}
