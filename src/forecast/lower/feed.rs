//! A semi-closed unit's feed, with how far it may be off.

use crate::forecast::Unknown;
use crate::forecast::dives::DiverDive;
use crate::physics::loop_balance::{FEED_TOLERANCE, Feed};
use crate::plan::{Maybe, as_of};

/// The feed as it is known on the plan's day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fed {
    /// The constant part as measured, else as rated; the controlled part as rated.
    pub feed: Feed,
    /// How far the constant part may be off, a fraction: nothing once it is measured.
    pub tolerance: f64,
}

impl Fed {
    /// At the low end: what floor and set-point are judged by.
    pub(crate) fn at_least(&self) -> Feed {
        self.feed.low_end(self.tolerance)
    }
}

/// The feed of the diver's unit.
///
/// # Errors
/// The fact that is lacking; none where another rule speaks of it.
pub(crate) fn feed(dive: &DiverDive<'_>) -> Result<Fed, Unknown> {
    let unit = dive.unit().ok_or(Unknown::SaidElsewhere)?;
    let flow = |flow: &Maybe<f64>| flow.as_ref().map(|flow| flow.value);
    let (constant, controlled) = (flow(&unit.thing.feed_constant_lpm), flow(&unit.thing.feed_controlled_lpm));
    if constant.is_none() && controlled.is_none() {
        return Err(Unknown::lacks(&unit.name.place, format!("the `feed` of unit {:?}", unit.name.value)));
    }
    let measured = dive.day().and_then(|day| as_of(&unit.thing.flow, day)).and_then(|flow| flow.what.as_ref());
    let constant_lpm = measured.map(|measured| measured.value).or(constant).unwrap_or(0.0);
    let feed = Feed { constant_lpm, controlled_lpm: controlled.unwrap_or(0.0) };
    Ok(Fed { feed, tolerance: if measured.is_some() { 0.0 } else { FEED_TOLERANCE } })
}
