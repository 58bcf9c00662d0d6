//! Runs that were made, by what was given.

use std::any::Any;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::DiveInput;
use super::answers::Answers;
use crate::physics::Mix;
use crate::run::{Body, Circuit, Cylinder, Escape, Outcome, Profile, Scenario, Stuck, Track, outcomes, story};

/// A dive and the run of it, with the same dive on the feeds and mixes that it may as well have.
#[derive(Debug)]
pub struct Simulation {
    /// The dive, on the mixes of least oxygen.
    pub dive: Profile,
    /// The run of it.
    pub track: Track,
    feed_tolerance: f64,
    rich: Vec<Mix>,
    low_feed: OnceLock<Option<Track>>,
    high_feed: OnceLock<Option<Track>>,
    rich_mix: OnceLock<Option<Track>>,
    at_floor: OnceLock<Option<Track>>,
    escapes: OnceLock<Vec<Escape>>,
    outcomes: OnceLock<Vec<Outcome>>,
    /// The run that does not come back to the surface where this one is shown in its place, and why.
    judged: Option<(Track, Stuck, f64)>,
    answers: Answers,
}

impl Simulation {
    fn of(given: &DiveInput) -> Option<Simulation> {
        let dive = given.dive()?;
        let track = dive.run();
        Some(Simulation {
            dive,
            track,
            feed_tolerance: given.feed_tolerance,
            rich: given.cylinders.iter().map(|bottle| bottle.rich).collect(),
            low_feed: OnceLock::new(),
            high_feed: OnceLock::new(),
            rich_mix: OnceLock::new(),
            at_floor: OnceLock::new(),
            escapes: OnceLock::new(),
            outcomes: OnceLock::new(),
            judged: None,
            answers: Answers::default(),
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

    /// The run on which the diver does not come back to the surface, why, and when, minutes since leaving it, if there is one:
    /// as planned, else on the feeds and mixes that the dive may as well have.
    pub fn never_surfaces(&self) -> Option<(&Track, Stuck, f64)> {
        if let Some((track, stuck, t_min)) = &self.judged {
            return Some((track, *stuck, *t_min));
        }
        let runs = [&self.track, self.high_feed(), self.low_feed(), self.rich_mix()];
        runs.into_iter().find_map(|track| {
            let (stuck, t_min) = track.stuck()?;
            Some((track, stuck, t_min))
        })
    }

    /// The run with the loop taken to be at its floor all dive, as far as tissues go; `None` where there is no floor, or
    /// tissues are not followed.
    pub fn at_floor(&self) -> Option<&Track> {
        let run = || {
            let (floor_o2, body) = (self.dive.limits.floor_o2, self.dive.carried.body?);
            if floor_o2 <= 0.0 {
                return None;
            }
            let mut dive = self.dive.clone();
            dive.carried.body = Some(Body { loop_o2_most: floor_o2, ..body });
            Some(dive.run())
        };
        self.at_floor.get_or_init(run).as_ref()
    }

    /// The way out on open circuit from every minute, with the constant feed at the high end of its tolerance; none where
    /// nothing says what the diver breathes.
    pub fn escapes(&self) -> &[Escape] {
        self.escapes.get_or_init(|| {
            let dive = self.high_feed_dive();
            self.dive.home.out.map(|out| dive.escapes(self.high_feed(), &out)).unwrap_or_default()
        })
    }

    /// How far off the constant feed may be, a share of it; `None` where that changes nothing.
    pub fn feed_off(&self) -> Option<f64> {
        self.widened().then_some(self.feed_tolerance)
    }

    /// What comes of every trouble that the dive can meet, with the constant feed at the low end of its tolerance.
    pub fn outcomes(&self) -> &[Outcome] {
        let run = || outcomes(&self.low_feed_dive(), self.low_feed(), self.escapes());
        self.outcomes.get_or_init(run)
    }

    /// The same dive told with the trouble of a name from its worst moment on, of several the one that is not covered;
    /// `None` where the dive can't meet it.
    pub fn with_trouble(&self, name: &str) -> Option<Simulation> {
        let of_name = self.outcomes().iter().filter(|outcome| outcome.trouble.name() == name);
        let outcome = of_name.min_by_key(|outcome| outcome.is_covered())?;
        let track = story(&self.low_feed_dive(), self.low_feed(), self.escapes(), outcome)?;
        Some(Simulation {
            dive: outcome.trouble.worsen(&self.dive),
            track,
            feed_tolerance: 0.0,
            rich: self.rich.clone(),
            low_feed: OnceLock::new(),
            high_feed: OnceLock::new(),
            rich_mix: OnceLock::new(),
            at_floor: OnceLock::new(),
            escapes: OnceLock::from(Vec::new()),
            outcomes: OnceLock::from(vec![*outcome]),
            judged: None,
            answers: Answers::default(),
        })
    }

    /// The run as people are shown it: straight up where the plan gives no gradient, though ways out and contingencies are
    /// judged with the fewest stops that any gradient asks for; `None` where that is this run.
    pub(super) fn shown(&self) -> Option<Simulation> {
        if !self.dive.home.fewest_stops {
            return None;
        }
        let dive = self.dive.alike(|dive| {
            dive.home.stops = None;
            dive.carried.body = None;
        });
        Some(Simulation {
            track: dive.run(),
            dive,
            feed_tolerance: self.feed_tolerance,
            rich: self.rich.clone(),
            low_feed: OnceLock::new(),
            high_feed: OnceLock::new(),
            rich_mix: OnceLock::new(),
            at_floor: OnceLock::new(),
            escapes: OnceLock::from(self.escapes().to_vec()),
            outcomes: OnceLock::from(self.outcomes().to_vec()),
            judged: self.never_surfaces().map(|(track, stuck, t_min)| (track.clone(), stuck, t_min)),
            answers: Answers::default(),
        })
    }

    /// What `work` finds of this run, kept with it: `name` is the question's own, and `beside` is all that the answer depends on
    /// beside the run.
    pub fn answer<T: Any + Send + Sync>(&self, name: &'static str, beside: &[f64], work: impl FnOnce() -> T) -> Arc<T> {
        self.answers.get(name, beside, work)
    }

    /// The dive with the constant feed at the low end of its tolerance.
    pub fn low_feed_dive(&self) -> Profile {
        self.dive.at_low_feed(self.feed_tolerance)
    }

    /// The dive with the constant feed at the high end of its tolerance.
    pub fn high_feed_dive(&self) -> Profile {
        self.dive.at_high_feed(self.feed_tolerance)
    }

    /// The dive on the mixes of most oxygen, the litres left as they are.
    pub fn rich_mix_dive(&self) -> Profile {
        let richer = |(cylinder, rich): (&Cylinder, &Mix)| {
            let mut cylinder = cylinder.clone();
            cylinder.mix = *rich;
            cylinder
        };
        Profile { cylinders: self.dive.cylinders.iter().zip(&self.rich).map(richer).collect(), ..self.dive.clone() }
    }

    fn widened(&self) -> bool {
        let constant = match self.dive.circuit {
            Circuit::SemiClosed(unit) => unit.feed.constant_lpm,
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
pub struct SimulationCache {
    made: Arc<Mutex<Made>>,
}

/// What is given, as bytes: the same exactly for the same run, so that no two different dives are ever taken for one.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Key(Box<[u8]>);

impl Key {
    /// `None` where it can't be written down, which plain numbers always can.
    fn of(given: &DiveInput) -> Option<Key> {
        postcard::to_stdvec(given).ok().map(|bytes| Key(bytes.into()))
    }
}

/// Two generations: what is asked for again moves to the young one, and the old one goes when the young one is full.
#[derive(Debug)]
struct Made {
    /// Pieces of tracks that one generation holds.
    most: usize,
    young: HashMap<Key, Option<Arc<Simulation>>>,
    old: HashMap<Key, Option<Arc<Simulation>>>,
    /// Pieces of the young ones' tracks.
    pieces: usize,
}

/// Pieces of tracks in one generation, about a kilobyte each: a dive has some twenty, one of hostile numbers thousands.
const GENERATION: usize = 30_000;

impl Default for Made {
    fn default() -> Made {
        Made { most: GENERATION, young: HashMap::new(), old: HashMap::new(), pieces: 0 }
    }
}

impl SimulationCache {
    /// None yet.
    pub fn new() -> SimulationCache {
        SimulationCache::default()
    }

    /// The run of what is given; `None` where it can't be.
    pub fn of(&self, given: &DiveInput) -> Option<Arc<Simulation>> {
        let key = Key::of(given);
        if let Some(known) = key.as_ref().and_then(|key| self.known(key)) {
            return known;
        }
        // Run outside the lock; should two threads meet here, they find the same.
        let ran = Simulation::of(given).map(Arc::new);
        let Some(key) = key else { return ran };
        self.made.lock().unwrap_or_else(PoisonError::into_inner).keep(key, ran.clone());
        ran
    }

    fn known(&self, key: &Key) -> Option<Option<Arc<Simulation>>> {
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
    fn keep(&mut self, key: Key, ran: Option<Arc<Simulation>>) {
        // What can't be run weighs little, but not nothing.
        let pieces = ran.as_ref().map_or(1, |ran| ran.track.segments.len().max(1));
        if self.pieces + pieces > self.most {
            self.old = std::mem::take(&mut self.young);
            self.pieces = 0;
        }
        self.pieces += pieces;
        self.young.insert(key, ran);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::forecast::lower::CylinderInput;
    use crate::physics::Water;
    use crate::run::{Exposure, Filled, Home, Leg, Limits, Open, Why, Work};

    fn stay(minutes: f64) -> DiveInput {
        let work = Work { oxygen_lpm: 1.0, gas_lpm: 20.0 };
        let filled = Filled {
            size_l: 12.0,
            mix: Mix::nitrox(0.32),
            gauge_bar: 200.0,
            read_c: 20.0,
            water_c: 9.0,
            surface_bar: 1.0,
            reserve_bar: 50.0,
            unusable_bar: 20.0,
            greatest_po2_bar: 1.4,
        };
        DiveInput {
            water: Water { surface_bar: 1.0, bar_per_m: 0.1 },
            circuit: Circuit::Open(Open { cylinder: 0 }),
            feed_tolerance: 0.0,
            set_point: None,
            pre_breathe_min: 0.0,
            checks_l: 0.0,
            inflates: None,
            cylinders: vec![CylinderInput { filled, rich: filled.mix, used_l: 0.0, common: None, twins: None }],
            rest: work,
            legs: vec![Leg::new(20.0, 2.0, work, Why::Asked(0)), Leg::new(20.0, minutes, work, Why::Asked(1))],
            carried: Exposure::default(),
            home: Home::default(),
            limits: Limits::default(),
            others: Vec::new(),
        }
    }

    #[test]
    fn what_is_asked_for_again_is_kept_and_the_rest_goes() {
        let most = 600;
        let runs = SimulationCache { made: Arc::new(Mutex::new(Made { most, ..Made::default() })) };
        let first = runs.of(&stay(5.0)).unwrap();
        let pieces = first.track.segments.len();
        let mut at_most = 0;
        for n in 0..3 * most / pieces {
            runs.of(&stay(6.0 + n as f64 * 1e-3)).unwrap();
            if n % 20 == 0 {
                assert!(Arc::ptr_eq(&first, &runs.of(&stay(5.0)).unwrap()));
            }
            let made = runs.made.lock().unwrap();
            at_most = at_most.max((made.young.len() + made.old.len()) * pieces);
        }
        assert!(at_most <= 2 * most, "{at_most}");
        assert!(runs.known(&Key::of(&stay(6.0)).unwrap()).is_none(), "asked for once and long ago");
    }

    #[test]
    fn what_can_t_be_run_is_remembered_too() {
        let (runs, mut given) = (SimulationCache::new(), stay(5.0));
        given.cylinders[0].filled.size_l = -1.0;
        assert!(runs.of(&given).is_none());
        assert!(runs.known(&Key::of(&given).unwrap()).is_some_and(|known| known.is_none()));
    }
}
