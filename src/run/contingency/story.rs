//! A trouble told as a run: the dive as planned up to its worst moment, and what follows.

use std::rc::Rc;

use super::{Outcome, Trial, alarms, leaves_loop};
use crate::physics::tolerance;
use crate::run::ascent::stops::Paces;
use crate::run::{Escape, Planned, Profile, Scenario, State, Track, Trouble, run};

/// The dive with a trouble as it would go: as planned up to the worst moment, then with the trouble, and out on open
/// circuit. Of an overrun the whole dive. `None` where it can't happen.
///
/// A loop that fails is stayed with until a while after the alarm.
pub fn story(dive: &Profile, track: &Track, escapes: &[Escape], outcome: &Outcome) -> Option<Track> {
    let (trouble, out) = (outcome.trouble, dive.home.out?);
    let worse = trouble.worsen(dive);
    if trouble.is_of_the_dive() {
        return Some(worse.run());
    }
    let sources = worse.sources();
    let mut from = track.at(outcome.t_min);
    trouble.strike(&mut from);
    let before = cut(track, outcome.t_min);
    let out = trouble.way_out(dive, &out);
    let paces = Rc::new(Paces::of(&out.ascent, worse.home.grid_m()));
    let bail_out = |from: State| worse.bail_out_at(from, &sources, &out, paces, &worse.limits);
    if !trouble.is_of_the_loop() {
        return Some(joined(before, bail_out(from)));
    }
    let trial = Trial::of(dive, track, escapes)?;
    let legs = trial.staying(trouble, &worse, &from, outcome.t_min);
    let limits = alarms(dive, trouble, &from);
    let mut from = from;
    trouble.takes_over(&mut from);
    let staying = run(from, &mut Planned::new(&legs), &sources, &limits);
    let leaves = leaves_loop(&staying, &limits, trouble, worse.home.trials.react_min);
    let stayed = cut(&staying, leaves);
    let state = stayed.end.clone();
    let whole = joined(before, stayed);
    Some(if state.depth_m() > tolerance::DEPTH_M { joined(whole, bail_out(state)) } else { whole })
}

/// A run up to a moment.
fn cut(track: &Track, t_min: f64) -> Track {
    let mut cut = track.clone();
    cut.end = track.at(t_min);
    cut.segments.retain(|segment| segment.start.t_min < t_min - tolerance::INSTANT_MIN);
    if let Some(last) = cut.segments.last_mut() {
        last.minutes = last.minutes.min(t_min - last.start.t_min);
    }
    cut.events.retain(|event| event.t_min <= t_min);
    cut.spent.retain(|spent| spent.t_min <= t_min);
    cut.legs.retain(|(begins, _)| *begins < t_min - tolerance::INSTANT_MIN);
    cut
}

/// One run after another.
fn joined(mut first: Track, then: Track) -> Track {
    let legs = first.legs.len();
    first.legs.extend(then.legs);
    first.segments.extend(then.segments.into_iter().map(|mut segment| {
        segment.leg += legs;
        segment
    }));
    first.events.extend(then.events);
    first.spent.extend(then.spent);
    (first.end, first.ended, first.last) = (then.end, then.ended, then.last);
    first
}

impl Trouble {
    /// Whether it is the loop's gas that fails, and not the way out's.
    pub(super) const fn is_of_the_loop(self) -> bool {
        matches!(
            self,
            Trouble::ControlledFeedShut
                | Trouble::ConstantFeedShut
                | Trouble::MakeUpLost
                | Trouble::ControllerStuckOpen
                | Trouble::OxygenShut
                | Trouble::OxygenStuckOpen
                | Trouble::DiluentLost
                | Trouble::HardWork
        )
    }
}
