//! Runs that were made, by what was given.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::held::Held;
use super::{DiveInput, Simulation};

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
    /// Bytes that one generation holds.
    most: usize,
    young: HashMap<Key, Option<Arc<Simulation>>>,
    old: HashMap<Key, Option<Arc<Simulation>>>,
    /// What the young ones hold, and what was worked out of them since.
    held: Held,
}

/// Bytes in one generation: a diver's dive takes some 50 kB with all that is worked out of it, one of hostile numbers
/// megabytes.
const GENERATION: usize = 12 << 20;

impl Default for Made {
    fn default() -> Made {
        Made { most: GENERATION, young: HashMap::new(), old: HashMap::new(), held: Held::default() }
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
        if self.held.bytes() > self.most {
            self.old = std::mem::take(&mut self.young);
            self.held = Held::default();
        }
        // What can't be run weighs little, but not nothing.
        self.held.add(size_of::<Key>() + key.0.len() + size_of::<Simulation>());
        if let Some(ran) = &ran {
            ran.held().move_to(&self.held);
        }
        self.young.insert(key, ran);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::forecast::held::Weighs;
    use crate::forecast::lower::CylinderInput;
    use crate::physics::Mix;
    use crate::physics::Water;
    use crate::run::{Circuit, Exposure, Filled, Home, Leg, Limits, Open, Why, Work};

    fn stay(minutes: f64) -> DiveInput {
        let work = Work { oxygen_lpm: 1.0, gas_lpm: 20.0 };
        let filled = Filled { mix: Mix::nitrox(0.32), water_c: 9.0, unusable_bar: 20.0, ..Filled::PLAIN };
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
        const MOST: usize = 1 << 20;
        let runs = SimulationCache { made: Arc::new(Mutex::new(Made { most: MOST, ..Made::default() })) };
        let first = runs.of(&stay(5.0)).unwrap();
        let one = first.held().bytes();
        assert!(one > 1000, "{one}");
        let mut at_most = 0;
        for n in 0..4 * MOST / one {
            runs.of(&stay(6.0 + n as f64 * 1e-3)).unwrap();
            if n % 20 == 0 {
                assert!(Arc::ptr_eq(&first, &runs.of(&stay(5.0)).unwrap()));
            }
            at_most = at_most.max(held(&runs));
        }
        assert!((MOST..=2 * MOST + 2 * one).contains(&at_most), "{at_most}");
        assert!(runs.known(&Key::of(&stay(6.0)).unwrap()).is_none(), "asked for once and long ago");
    }

    /// What all runs that are kept hold, counted from scratch.
    fn held(runs: &SimulationCache) -> usize {
        let made = runs.made.lock().unwrap();
        let all = made.young.values().chain(made.old.values()).flatten();
        all.map(|ran| ran.track.bytes() + ran.escapes().to_vec().bytes()).sum()
    }

    #[test]
    fn what_is_worked_out_later_is_counted_too() {
        let runs = SimulationCache::new();
        let counted = || runs.made.lock().unwrap().held.bytes();
        let ran = runs.of(&stay(5.0)).unwrap();
        let before = counted();
        let answer = |figure: f64| *ran.answer("as given", &[figure], || figure);
        assert_eq!((answer(1.0), answer(1.0)), (1.0, 1.0));
        let once = counted();
        assert!(once > before, "{before} {once}");
        let no_end: f64 = (0..10_000).map(|n| answer(f64::from(n))).sum();
        assert_eq!(no_end, 49_995_000.0);
        assert!(counted() - once < 300 * (once - before), "there is an end to what is kept of one run");
    }

    #[test]
    fn what_can_t_be_run_is_remembered_too() {
        let (runs, mut given) = (SimulationCache::new(), stay(5.0));
        given.cylinders[0].filled.size_l = -1.0;
        assert!(runs.of(&given).is_none());
        assert!(runs.known(&Key::of(&given).unwrap()).is_some_and(|known| known.is_none()));
    }
}
