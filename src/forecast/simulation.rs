//! A run that was made, with all that was worked out of it.

use std::any::Any;
use std::sync::{Arc, OnceLock};

use super::DiveInput;
use super::answers::Answers;
use super::held::Held;
use crate::physics::{Mix, tolerance};
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
    /// Counts the bytes of what is worked out and kept.
    held: Held,
}

impl Simulation {
    pub(super) fn of(given: &DiveInput) -> Option<Simulation> {
        let held = Held::default();
        let dive = given.dive()?;
        let track = held.kept(dive.run());
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
            held,
        })
    }

    /// Counts what it holds.
    pub(super) fn held(&self) -> &Held {
        &self.held
    }

    /// The run with the constant feed at the low end of its tolerance: what the floor is judged by.
    pub fn low_feed(&self) -> &Track {
        let run = || self.widened().then(|| self.held.kept(self.low_feed_dive().run()));
        self.low_feed.get_or_init(run).as_ref().unwrap_or(&self.track)
    }

    /// The run with the constant feed at the high end of its tolerance: what endurance is judged by.
    pub fn high_feed(&self) -> &Track {
        let run = || self.widened().then(|| self.held.kept(self.high_feed_dive().run()));
        self.high_feed.get_or_init(run).as_ref().unwrap_or(&self.track)
    }

    /// The run on the mixes of most oxygen: what oxygen clocks are judged by.
    pub fn rich_mix(&self) -> &Track {
        let run = || self.richer().then(|| self.held.kept(self.rich_mix_dive().run()));
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
            Some(self.held.kept(dive.run()))
        };
        self.at_floor.get_or_init(run).as_ref()
    }

    /// The way out on open circuit from every minute, with the constant feed at the high end of its tolerance; none where
    /// nothing says what the diver breathes.
    pub fn escapes(&self) -> &[Escape] {
        self.escapes.get_or_init(|| {
            let dive = self.high_feed_dive();
            self.held.kept(self.dive.home.out.map(|out| dive.escapes(self.high_feed(), &out)).unwrap_or_default())
        })
    }

    /// How far off the constant feed may be, a share of it; `None` where that changes nothing.
    pub fn feed_off(&self) -> Option<f64> {
        self.widened().then_some(self.feed_tolerance)
    }

    /// What comes of every trouble that the dive can meet, with the constant feed at the low end of its tolerance.
    pub fn outcomes(&self) -> &[Outcome] {
        let run = || self.held.kept(outcomes(&self.low_feed_dive(), self.low_feed(), self.escapes()));
        self.outcomes.get_or_init(run)
    }

    /// The way out that lacks most, where one lacks anything, else the one that takes most; `None` where nothing says what the
    /// diver breathes.
    pub fn worst_way_out(&self) -> Option<&Escape> {
        let takes = |escape: &Escape| escape.draws_l.iter().sum::<f64>();
        let lacks = |escape: &Escape| if escape.lacks_l > tolerance::LITRES { escape.lacks_l } else { 0.0 };
        self.escapes().iter().max_by(|a, b| lacks(a).total_cmp(&lacks(b)).then(takes(a).total_cmp(&takes(b))))
    }

    /// The way out from a moment, with the constant feed at the high end of its tolerance; `None` where nothing says what the
    /// diver breathes.
    pub fn way_out_from(&self, t_min: f64) -> Option<Track> {
        let dive = self.high_feed_dive();
        let out = dive.home.out?;
        Some(dive.bail_out_from(self.high_feed().at(t_min), &dive.sources(), &out))
    }

    /// The dive as it goes with a trouble that it can meet: as planned up to its worst moment, of an overrun from the start.
    pub fn with(&self, outcome: &Outcome) -> Option<Track> {
        story(&self.low_feed_dive(), self.low_feed(), self.escapes(), outcome)
    }

    /// The same dive told with the trouble of a name from its worst moment on, of several the one that is not covered;
    /// `None` where the dive can't meet it.
    pub fn with_trouble(&self, name: &str) -> Option<Simulation> {
        let of_name = self.outcomes().iter().filter(|outcome| outcome.trouble.name() == name);
        let outcome = of_name.min_by_key(|outcome| outcome.is_covered())?;
        let track = self.with(outcome)?;
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
            held: self.held.clone(),
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
            held: self.held.clone(),
        })
    }

    /// What `work` finds of this run, kept with it: `name` is the question's own, and `beside` is all that the answer depends on
    /// beside the run.
    pub fn answer<T: Any + Send + Sync>(&self, name: &'static str, beside: &[f64], work: impl FnOnce() -> T) -> Arc<T> {
        self.answers.get(name, beside, &self.held, work)
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
