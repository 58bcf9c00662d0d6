//! What is breathed from: one file for each kind of circuit.

mod closed;
mod open;
mod passive;
mod semi_closed;
mod volume;

pub use closed::Closed;
pub use open::Open;
pub use passive::Passive;
pub use semi_closed::SemiClosed;

use super::{Crossing, EventKind, Leg, Regime, State};

/// A source of breathing gas: how it behaves from an instant on, and what it does to that instant when something is
/// reached.
pub trait Breathing: std::fmt::Debug + Send + Sync {
    /// What holds from now on, up to its own next event. `leg` is what is left of the leg; `now.bar_per_min` says how
    /// the pressure changes along it.
    fn regime(&self, now: &State, leg: &Leg) -> Regime;

    /// Whether its figures can be meant; a run on one that can't ends as [`Ended::Nonsense`](super::Ended::Nonsense).
    fn is_sane(&self) -> bool {
        true
    }

    /// The cylinder that is breathed from straight, on open circuit.
    fn open_circuit(&self) -> Option<usize> {
        None
    }

    /// Puts the state exactly on what was reached; what to tell of it, if anything.
    fn cross(&self, now: &mut State, event: Crossing) -> Option<EventKind>;
}
