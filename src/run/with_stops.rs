//! The run of a dive: along its legs, with the stops that they make.

use super::{Act, Ascent, Breathing, Leg, Limits, Planned, Profile, Route, State, Track, Way, WayHome, run};

impl Profile {
    /// The dive as planned.
    pub fn run(&self) -> Track {
        if self.others.is_empty() { self.run_from_start(self.start()) } else { self.run_together() }
    }

    pub(in crate::run) fn run_from_start(&self, start: State) -> Track {
        let (legs, sources) = (self.all_legs(), self.sources());
        run(start, &mut WithStops::new(self, &legs, &sources), &sources, &self.limits)
    }
}

/// The course along a dive's legs, with stops on the legs that make them.
#[derive(Debug)]
pub struct WithStops<'a> {
    dive: &'a Profile,
    legs: Planned<'a>,
    sources: &'a [Box<dyn Breathing>],
    way: Option<WayHome<'a>>,
    /// Which way the leg that makes them leads under something overhead.
    leads: Option<Way>,
}

impl<'a> WithStops<'a> {
    /// Along some legs of a dive, on its sources.
    pub fn new(dive: &'a Profile, legs: &'a [Leg], sources: &'a [Box<dyn Breathing>]) -> WithStops<'a> {
        WithStops { dive, legs: Planned::new(legs), sources, way: None, leads: None }
    }
}

impl Route for WithStops<'_> {
    fn next(&mut self, now: &State, limits: &Limits) -> Option<Leg> {
        if let Some(way) = &mut self.way {
            if let Some(leg) = way.next(now, limits) {
                return Some(leg.leading(self.leads, now.depth_m()));
            }
            if !way.arrived(now) {
                // Nobody waits that long; the dive ends under water.
                return None;
            }
            self.way = None;
        }
        let leg = self.legs.next(now, limits)?;
        let up_m = now.depth_m() - leg.to_m;
        if !(leg.stops && leg.act == Act::None && up_m > 0.0 && leg.lasts_min > 0.0) {
            return Some(leg);
        }
        let ascent = Ascent { rate_m_per_min: up_m / leg.lasts_min, work: leg.work, ..self.dive.home.ascent };
        let way = WayHome::new(self.sources, self.dive.home.stops, ascent, self.dive.gases(now));
        self.leads = leg.way;
        let first = self.way.insert(way.because(leg.why).up_to(leg.to_m)).next(now, limits);
        first.map(|first| first.leading(self.leads, now.depth_m()))
    }
}
