//! How much is kept of what was worked out, in bytes: so that what keeps it can let go in time.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use crate::run::{Escape, Event, Leg, Outcome, Segment, Spent, Track};

/// Bytes on the heap, roughly: what is meant is memory, not accounts.
pub(super) trait Weighs {
    fn bytes(&self) -> usize;
}

impl Weighs for Track {
    fn bytes(&self) -> usize {
        // What its states point to is left out: tracks of one dive share it.
        size_of::<Track>()
            + self.segments.capacity() * size_of::<Segment>()
            + self.events.capacity() * size_of::<Event>()
            + self.spent.capacity() * size_of::<Spent>()
            + self.legs.capacity() * size_of::<(f64, Leg)>()
    }
}

impl Weighs for Vec<Escape> {
    fn bytes(&self) -> usize {
        let drawn: usize = self.iter().map(|escape| escape.draws_l.capacity() * size_of::<f64>()).sum();
        self.capacity() * size_of::<Escape>() + drawn
    }
}

impl Weighs for Vec<Outcome> {
    fn bytes(&self) -> usize {
        self.capacity() * size_of::<Outcome>()
    }
}

/// A count of bytes that are held, kept by many for one who has to know; who is counted there may change.
#[derive(Debug, Clone, Default)]
pub(super) struct Held(Arc<Mutex<Account>>);

#[derive(Debug, Default)]
struct Account {
    own: usize,
    total: Arc<AtomicUsize>,
}

impl Held {
    /// What a count comes to, with all that moved to it.
    pub(super) fn bytes(&self) -> usize {
        self.account(|account| account.total.load(Ordering::Relaxed))
    }

    /// Counts so many more.
    pub(super) fn add(&self, bytes: usize) {
        self.account(|account| {
            account.own += bytes;
            account.total.fetch_add(bytes, Ordering::Relaxed);
        });
    }

    /// Counts what is kept from now on.
    pub(super) fn kept<T: Weighs>(&self, thing: T) -> T {
        self.add(thing.bytes());
        thing
    }

    /// Has what is counted here, and what will be, counted with another.
    pub(super) fn move_to(&self, other: &Held) {
        let total = other.account(|account| account.total.clone());
        self.account(|account| {
            total.fetch_add(account.own, Ordering::Relaxed);
            account.total = total;
        });
    }

    fn account<T>(&self, with: impl FnOnce(&mut Account) -> T) -> T {
        with(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}
