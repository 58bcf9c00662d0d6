//! Runs that were made, by what was given.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::Given;
use super::key::Key;
use crate::physics::Mix;
use crate::run::{Apparatus, Cylinder, Dive, Track};

/// A dive and the run of it, with the same dive on the feeds and mixes that it may as well have.
#[derive(Debug)]
pub struct Ran {
    /// The dive, on the mixes of least oxygen.
    pub dive: Dive,
    /// The run of it.
    pub track: Track,
    feed_tolerance: f64,
    rich: Vec<Mix>,
    low_feed: OnceLock<Option<Track>>,
    high_feed: OnceLock<Option<Track>>,
    rich_mix: OnceLock<Option<Track>>,
}

impl Ran {
    fn of(given: &Given) -> Option<Ran> {
        let dive = given.dive()?;
        let track = dive.run();
        Some(Ran {
            dive,
            track,
            feed_tolerance: given.feed_tolerance,
            rich: given.cylinders.iter().map(|bottle| bottle.rich).collect(),
            low_feed: OnceLock::new(),
            high_feed: OnceLock::new(),
            rich_mix: OnceLock::new(),
        })
    }

    /// The run with the constant feed at the low end of its tolerance: what the floor is judged by.
    pub fn low_feed(&self) -> &Track {
        let run = || self.widened().then(|| self.low_feed_dive().run());
        self.low_feed.get_or_init(run).as_ref().unwrap_or(&self.track)
    }

    /// The run with the constant feed at the high end of its tolerance: what endurance is judged by.
    pub fn high_feed(&self) -> &Track {
        let run = || self.widened().then(|| self.high_feed_dive().run());
        self.high_feed.get_or_init(run).as_ref().unwrap_or(&self.track)
    }

    /// The run on the mixes of most oxygen: what oxygen clocks are judged by.
    pub fn rich_mix(&self) -> &Track {
        let run = || self.richer().then(|| self.rich_mix_dive().run());
        self.rich_mix.get_or_init(run).as_ref().unwrap_or(&self.track)
    }

    /// The dive with the constant feed at the low end of its tolerance.
    pub fn low_feed_dive(&self) -> Dive {
        self.dive.at_low_feed(self.feed_tolerance)
    }

    /// The dive with the constant feed at the high end of its tolerance.
    pub fn high_feed_dive(&self) -> Dive {
        self.dive.at_high_feed(self.feed_tolerance)
    }

    /// The dive on the mixes of most oxygen, the litres left as they are.
    pub fn rich_mix_dive(&self) -> Dive {
        let richer = |(cylinder, rich): (&Cylinder, &Mix)| {
            let mut cylinder = cylinder.clone();
            cylinder.mix = *rich;
            cylinder
        };
        Dive { cylinders: self.dive.cylinders.iter().zip(&self.rich).map(richer).collect(), ..self.dive.clone() }
    }

    fn widened(&self) -> bool {
        let constant = match self.dive.apparatus {
            Apparatus::SemiClosed(unit) => unit.feed.constant_lpm,
            _ => 0.0,
        };
        self.feed_tolerance > 0.0 && constant > 0.0
    }

    fn richer(&self) -> bool {
        self.dive.cylinders.iter().zip(&self.rich).any(|(cylinder, rich)| cylinder.mix != *rich)
    }
}

/// The runs that were made of late. Cheap to clone; clones share what they know.
#[derive(Debug, Clone, Default)]
pub struct Runs {
    made: Arc<Mutex<Made>>,
}

/// Two generations: what is asked for again moves to the young one, and the old one goes when the young one is full.
#[derive(Debug, Default)]
struct Made {
    young: HashMap<Key, Option<Arc<Ran>>>,
    old: HashMap<Key, Option<Arc<Ran>>>,
}

/// Runs in one generation: some kilobytes each.
const GENERATION: usize = 2_000;

impl Runs {
    /// None yet.
    pub fn new() -> Runs {
        Runs::default()
    }

    /// The run of what is given; `None` where it can't be.
    pub fn of(&self, given: &Given) -> Option<Arc<Ran>> {
        let key = Key::of(given);
        if let Some(known) = self.known(&key) {
            return known;
        }
        // Run outside the lock; should two threads meet here, they find the same.
        let ran = Ran::of(given).map(Arc::new);
        self.made.lock().unwrap_or_else(PoisonError::into_inner).keep(key, ran.clone());
        ran
    }

    fn known(&self, key: &Key) -> Option<Option<Arc<Ran>>> {
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = made.young.get(key) {
            return Some(known.clone());
        }
        let (key, known) = made.old.remove_entry(key)?;
        made.keep(key, known.clone());
        Some(known)
    }
}

impl Made {
    fn keep(&mut self, key: Key, ran: Option<Arc<Ran>>) {
        if self.young.len() >= GENERATION {
            self.old = std::mem::take(&mut self.young);
        }
        self.young.insert(key, ran);
    }
}
