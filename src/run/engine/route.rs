//! Who decides where a diver goes next.

use crate::run::{Leg, Limits, State};

/// Whoever decides where to go next: the plan as written, the worked-out way home, a bail-out.
pub trait Route {
    /// The next leg, seen from where the diver is; `None` ends the run.
    fn next(&mut self, now: &State, limits: &Limits) -> Option<Leg>;
}

/// A course that follows a list of legs.
#[derive(Debug, Clone)]
pub struct Planned<'a> {
    legs: std::slice::Iter<'a, Leg>,
}

impl<'a> Planned<'a> {
    /// The course along these legs.
    pub fn new(legs: &'a [Leg]) -> Planned<'a> {
        Planned { legs: legs.iter() }
    }
}

impl Route for Planned<'_> {
    fn next(&mut self, _now: &State, _limits: &Limits) -> Option<Leg> {
        self.legs.next().copied()
    }
}
