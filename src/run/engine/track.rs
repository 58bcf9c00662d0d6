//! A dive as it went: pieces in closed form, and what happened when.

use crate::physics::Mix;
use crate::physics::tolerance;
use crate::run::{
    Along, Breath, ClockFloor, Draw, Event, EventKind, Exposure, Leg, Limits, LoopGas, Purpose, Regime, State, Why,
};

/// A fed loop this close to a partial pressure that it is held at, from end to end of a segment, is held there, bar.
const HELD_WITHIN_BAR: f64 = 1e-3;

/// A stretch of a dive on which one regime holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// What is true at its start.
    pub start: State,
    /// How long it is, minutes.
    pub minutes: f64,
    /// What holds.
    pub regime: Regime,
    /// Which of the track's legs it belongs to.
    pub leg: usize,
    /// Oxygen that the body asks for, free litres a minute.
    pub metabolic_lpm: f64,
}

impl Segment {
    pub(in crate::run) fn new(now: &State, minutes: f64, regime: Regime, leg: &Leg, index: usize) -> Segment {
        Segment { start: now.clone(), minutes, regime, leg: index, metabolic_lpm: leg.work.oxygen_lpm }
    }

    /// What holds, along the way that ambient pressure goes.
    pub fn along(&self) -> Along<'_> {
        Along { regime: &self.regime, bar: self.start.bar, bar_per_min: self.start.bar_per_min }
    }

    /// Ambient pressure after minutes, bar.
    pub fn bar_at(&self, minutes: f64) -> f64 {
        self.along().bar_at(minutes)
    }

    /// The mix that is breathed after minutes.
    pub fn mix_at(&self, minutes: f64) -> Mix {
        self.regime.breath.mix_at(minutes, self.bar_at(minutes))
    }

    /// The partial pressure of oxygen that is breathed after minutes, bar.
    pub fn po2_at(&self, minutes: f64) -> f64 {
        let bar = self.bar_at(minutes);
        self.regime.breath.o2_at(minutes, bar) * bar
    }

    /// The partial pressures of oxygen that are breathed where it begins, turns and ends within so many minutes, bar: the least
    /// and the greatest are among them.
    pub fn po2_within(&self, minutes: f64) -> impl Iterator<Item = f64> {
        let lasts = minutes.min(self.minutes);
        let turn = self.regime.breath.turning(self.start.bar, self.start.bar_per_min, lasts);
        [Some(0.0), turn, Some(lasts)].into_iter().flatten().map(|minutes| self.po2_at(minutes))
    }

    /// What is fed to the loop or drawn for a purpose after minutes, free litres a minute.
    pub fn lpm_at(&self, minutes: f64, purpose: Purpose) -> f64 {
        // From nothing, not minus nothing, which an empty sum is.
        let drawn = self.regime.draws.iter().filter(|draw| draw.purpose == purpose);
        drawn.fold(0.0, |sum, draw| sum + draw.lpm_at(minutes))
    }

    /// All that is true after minutes, within the segment.
    pub fn at(&self, minutes: f64) -> State {
        self.after(minutes, self.start.exposure)
    }

    /// The same for a run that is only asked about gas and tissues: oxygen's clocks stand still.
    pub(crate) fn without_clocks_at(&self, minutes: f64) -> State {
        self.after(minutes, Exposure { clocks_stopped: true, ..self.start.exposure })
    }

    /// What a cylinder holds after minutes, free litres; none of one that there isn't.
    pub fn litres_at(&self, minutes: f64, cylinder: usize) -> Option<f64> {
        let minutes = minutes.clamp(0.0, self.minutes);
        let drawn = self.regime.draws.iter().filter(|draw| draw.cylinder == cylinder);
        let own = drawn.fold(*self.start.litres.get(cylinder)?, |left, draw| left - draw.litres(minutes));
        Some(if self.start.others.is_some() { own - self.start.others_l(cylinder, minutes) } else { own })
    }

    fn after(&self, minutes: f64, exposure: Exposure) -> State {
        let minutes = minutes.clamp(0.0, self.minutes);
        let mut state = self.start.clone();
        state.t_min += minutes;
        state.bar = self.bar_at(minutes);
        if let Some(litres) = self.regime.breath.litres_at(minutes, state.bar) {
            let Mix { o2, he } = self.mix_at(minutes);
            state.breathed = LoopGas { o2, he, litres };
        }
        for draw in self.regime.draws.iter() {
            state.take(draw.cylinder, draw.litres(minutes));
        }
        if self.start.others.is_some() {
            for cylinder in 0..state.litres.len() {
                state.take(cylinder, self.start.others_l(cylinder, minutes));
            }
        }
        state.inside.go_on(minutes);
        state.exposure = exposure.after(self.along(), minutes);
        state
    }

    /// All that is true at its end.
    pub fn end(&self) -> State {
        self.at(self.minutes)
    }

    /// The greatest partial pressure of oxygen that what is breathed is meant for, bar: on open circuit the cylinder's own.
    pub(in crate::run) fn greatest_bar(&self, limits: &Limits) -> f64 {
        let open = self.regime.draws.iter().find(|draw| draw.purpose == Purpose::OpenCircuit);
        let kit = open.and_then(|draw| self.start.kit.get(draw.cylinder));
        kit.filter(|_| matches!(self.regime.breath, Breath::Open(_)))
            .map_or(limits.greatest_bar, |kit| kit.filled.greatest_po2_bar)
    }

    /// Whether a controller holds the loop at its set-point.
    pub fn holds_set_point(&self) -> bool {
        let feeds = |draw: &Draw| draw.purpose == Purpose::Feed;
        match (&self.regime.breath, self.regime.clock_floor) {
            (Breath::Held { .. }, _) => true,
            (Breath::Loop { balance, .. }, ClockFloor::Fraction(set_point)) => {
                balance.o2 == set_point && balance.oxygen_lpm == balance.wash_lpm * balance.o2
            }
            (Breath::Loop { .. }, ClockFloor::Bar(po2_bar)) if self.regime.draws.iter().any(feeds) => {
                let at = |minutes: f64| (self.po2_at(minutes) - po2_bar).abs() <= HELD_WITHIN_BAR;
                at(0.0) && at(self.minutes)
            }
            _ => false,
        }
    }
}

/// Gas that went at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spent {
    /// When, minutes since leaving the surface.
    pub t_min: f64,
    /// From which cylinder.
    pub cylinder: usize,
    /// What for.
    pub purpose: Purpose,
    /// Free litres.
    pub litres: f64,
}

/// A stop on the way up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Halt {
    /// When it begins, minutes since leaving the surface.
    pub t_min: f64,
    /// How long it lasts, minutes.
    pub minutes: f64,
    /// How deep it is, metres.
    pub depth_m: f64,
}

/// Why a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ended {
    /// The course had no more legs.
    Route,
    /// A bound on time or pieces was reached.
    Bounded,
    /// A leg or the state held a number that can't be meant.
    Nonsense,
    /// There is no such source.
    NoSource,
}

/// Why a dive does not end at the surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stuck {
    /// No stop that anybody could wait for allows going on up, or the way up leads nowhere.
    StopsNeverEnd,
    /// There is nothing left to breathe.
    NoGas,
    /// It is longer than any run.
    Bounded,
    /// What it asks for can't be.
    Nonsense,
}

/// The greatest and least over a dive, each with its moment in minutes since leaving the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extremes {
    /// Least oxygen fraction of what was breathed; a held loop's by its band less.
    pub least_o2: (f64, f64),
    /// Least partial pressure of oxygen, bar.
    pub least_po2_bar: (f64, f64),
    /// Greatest partial pressure of oxygen, bar.
    pub greatest_po2_bar: (f64, f64),
    /// Greatest ambient pressure, bar.
    pub greatest_bar: (f64, f64),
}

/// A dive as it went. Nothing in it is sampled: any instant can be asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Its pieces, in order.
    pub segments: Vec<Segment>,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// Gas that went at one instant, in order.
    pub spent: Vec<Spent>,
    /// The legs as they were followed, each with when it began.
    pub legs: Vec<(f64, Leg)>,
    /// All that was true at the start, before anything was done.
    pub begun: State,
    /// All that is true at the end.
    pub end: State,
    /// Why it ended.
    pub ended: Ended,
    /// Partial pressure and, on a loop, fraction of oxygen where the last segment ended.
    pub(in crate::run) last: Option<(f64, Option<f64>)>,
}

/// Where an instant lies.
enum Place<'a> {
    /// So many minutes into a segment.
    On(&'a Segment, f64),
    /// Before the first of them or after the last.
    At(&'a State),
}

impl Track {
    pub(in crate::run) fn new(start: State) -> Track {
        Track {
            segments: Vec::with_capacity(16),
            events: Vec::with_capacity(16),
            spent: Vec::new(),
            legs: Vec::with_capacity(8),
            begun: start.clone(),
            end: start,
            ended: Ended::Route,
            last: None,
        }
    }

    pub(in crate::run) fn begin_leg(&mut self, t_min: f64, leg: Leg) {
        self.legs.push((t_min, leg));
    }

    pub(in crate::run) fn tell(&mut self, t_min: f64, kind: EventKind) {
        self.events.push(Event { t_min, kind });
    }

    pub(in crate::run) fn spend(&mut self, spent: Spent) {
        self.spent.push(spent);
    }

    pub(in crate::run) fn spend_from(&mut self, now: &mut State, cylinder: usize, purpose: Purpose, litres: f64) {
        now.take(cylinder, litres);
        self.spend(Spent { t_min: now.t_min, cylinder, purpose, litres });
    }

    pub(in crate::run) fn finish(&mut self, end: State, ended: Ended) {
        self.end = end;
        self.ended = ended;
        self.events.sort_by(|a, b| a.t_min.total_cmp(&b.t_min));
    }

    /// The segment that holds an instant; of two that meet there the later, `None` before the start or after the end.
    pub fn segment_at(&self, t_min: f64) -> Option<&Segment> {
        let after = self.segments.partition_point(|segment| segment.start.t_min <= t_min);
        let segment = self.segments.get(after.checked_sub(1)?)?;
        (t_min <= segment.start.t_min + segment.minutes).then_some(segment)
    }

    /// All that is true at an instant, exact; before the start as at the start, after the end as at the end.
    pub fn at(&self, t_min: f64) -> State {
        match self.place(t_min) {
            Place::On(segment, minutes) => segment.at(minutes),
            Place::At(state) => state.clone(),
        }
    }

    /// The same for a run that is only asked about gas and tissues: oxygen's clocks stand still.
    pub(crate) fn without_clocks_at(&self, t_min: f64) -> State {
        match self.place(t_min) {
            Place::On(segment, minutes) => segment.without_clocks_at(minutes),
            Place::At(state) => state.clone().with_clocks_stopped(),
        }
    }

    /// Depth at an instant, metres.
    pub fn depth_at(&self, t_min: f64) -> f64 {
        match self.place(t_min) {
            Place::On(segment, minutes) => segment.start.water.depth_m(segment.bar_at(minutes)),
            Place::At(state) => state.depth_m(),
        }
    }

    /// What a cylinder holds at an instant, free litres; none of one that there isn't.
    pub fn litres_at(&self, t_min: f64, cylinder: usize) -> Option<f64> {
        match self.place(t_min) {
            Place::On(segment, minutes) => segment.litres_at(minutes, cylinder),
            Place::At(state) => state.litres.get(cylinder).copied(),
        }
    }

    /// What an instant lies on.
    fn place(&self, t_min: f64) -> Place<'_> {
        if t_min.is_nan() || t_min >= self.end.t_min {
            return Place::At(&self.end);
        }
        let on = |segment| Place::On(segment, t_min - segment.start.t_min);
        self.segment_at(t_min).map_or_else(
            || match self.segments.first() {
                Some(first) if t_min < first.start.t_min => Place::At(&first.start),
                // Between two segments lies no more than rounding.
                _ => {
                    let before = self.segments.iter().rfind(|segment| segment.start.t_min <= t_min);
                    before.map_or(Place::At(&self.end), |segment| Place::On(segment, segment.minutes))
                }
            },
            on,
        )
    }

    /// The number of the plan's leg that is followed at an instant, where two meet the one that led there; `None` where the
    /// run goes by no leg of the plan's.
    pub fn asked_at(&self, t_min: f64) -> Option<usize> {
        let at = |t_min: f64| {
            let leg = self.segment_at(t_min).or(self.segments.last())?.leg;
            // A stop belongs to the leg on whose way up it lies.
            let asked = |(_, leg): &(f64, Leg)| !matches!(leg.why, Why::Stop | Why::Switch | Why::SafetyStop);
            match self.legs.get(..=leg)?.iter().rfind(|leg| asked(leg))?.1.why {
                Why::Asked(number) => Some(number),
                _ => None,
            }
        };
        // Just before an instant it is still what led there.
        at(t_min - tolerance::MINUTES).or_else(|| at(t_min))
    }

    /// The stops that were worked out, in order: when each began, how long it was in minutes, its depth in metres. Legs
    /// at one depth are one stop, a change of gas among them.
    pub fn stops(&self) -> Vec<Halt> {
        let mut stops: Vec<Halt> = Vec::new();
        for (number, (begins, leg)) in self.legs.iter().enumerate() {
            if !matches!(leg.why, Why::Stop | Why::Switch) {
                continue;
            }
            let ends = self.legs.get(number + 1).map_or(self.end.t_min, |(begins, _)| *begins);
            match stops.last_mut() {
                Some(last)
                    if last.depth_m == leg.to_m && (last.t_min + last.minutes - begins).abs() < tolerance::MINUTES =>
                {
                    last.minutes = ends - last.t_min;
                }
                _ => stops.push(Halt { t_min: *begins, minutes: ends - begins, depth_m: leg.to_m }),
            }
        }
        stops.retain(|stop| stop.minutes > tolerance::MINUTES);
        stops
    }

    /// Whether the diver is at the surface at the end.
    pub fn surfaced(&self) -> bool {
        self.end.at_surface()
    }

    /// Why the diver does not come back to the surface, where they don't: then whatever sums over the dive has no sum.
    pub fn never_surfaces(&self) -> Option<Stuck> {
        match self.ended {
            Ended::Route => (!self.surfaced()).then_some(Stuck::StopsNeverEnd),
            Ended::Bounded => Some(Stuck::Bounded),
            Ended::Nonsense | Ended::NoSource => Some(Stuck::Nonsense),
        }
    }

    /// When the diver has nothing left to breathe, minutes since leaving the surface: from then on open circuit is breathed
    /// from a cylinder that gives no more, and no other could be breathed there. What it lacks is counted on, so the run
    /// itself goes on.
    pub fn out_of_gas(&self) -> Option<f64> {
        let dry = |segment: &Segment, now: &State| {
            let breathed = |draw: &&Draw| draw.purpose == Purpose::OpenCircuit;
            segment.regime.draws.iter().filter(breathed).any(|draw| now.has_nothing_but(draw.cylinder))
        };
        let lasts = |segment: &&Segment| segment.minutes > tolerance::INSTANT_MIN;
        let first = self.under_way().filter(lasts).find(|segment| dry(segment, &segment.start));
        // A way home that looks for another gas and finds none goes no farther.
        let last = || self.segments.last().filter(|last| self.ended == Ended::Bounded && dry(last, &self.end));
        first.map(|segment| segment.start.t_min).or_else(|| last().map(|_| self.end.t_min))
    }

    /// Why and when a dive that is lived as it is planned does not end at the surface, minutes since leaving it.
    pub fn stuck(&self) -> Option<(Stuck, f64)> {
        let dry = self.out_of_gas().map(|t_min| (Stuck::NoGas, t_min));
        dry.or_else(|| Some((self.never_surfaces()?, self.end.t_min)))
    }

    /// The pieces from leaving the surface on.
    pub fn under_way(&self) -> impl Iterator<Item = &Segment> {
        self.segments.iter().filter(|segment| segment.start.t_min >= -tolerance::INSTANT_MIN)
    }

    /// All that was true at the start.
    pub fn start(&self) -> &State {
        &self.begun
    }

    /// The first event of a kind.
    pub fn first(&self, kind: EventKind) -> Option<Event> {
        self.events.iter().copied().find(|event| event.kind == kind)
    }

    /// Free litres taken from a cylinder for a purpose.
    pub fn used_l(&self, cylinder: usize, purpose: Purpose) -> f64 {
        let flowed: f64 = self
            .segments
            .iter()
            .flat_map(|segment| segment.regime.draws.iter().map(|draw| (draw, segment.minutes)))
            .filter(|(draw, _)| draw.cylinder == cylinder && draw.purpose == purpose)
            .map(|(draw, minutes)| draw.litres(minutes))
            .sum();
        let spent: f64 = self
            .spent
            .iter()
            .filter(|spent| spent.cylinder == cylinder && spent.purpose == purpose)
            .map(|spent| spent.litres)
            .sum();
        flowed + spent
    }

    /// Minutes of the run.
    pub fn minutes(&self) -> f64 {
        self.end.t_min - self.start().t_min
    }

    /// The greatest and least from an instant on; `None` of an empty track. A loop held at its set-point by a controller
    /// is taken to swing about it by the band.
    pub fn extremes(&self, from_min: f64, limits: &Limits) -> Option<Extremes> {
        let mut found: Option<Extremes> = None;
        for segment in &self.segments {
            let begins = (from_min - segment.start.t_min).max(0.0);
            if begins >= segment.minutes {
                continue;
            }
            let band = if segment.holds_set_point() && !matches!(segment.regime.breath, Breath::Held { .. }) {
                limits.band_o2
            } else {
                0.0
            };
            let turn = segment.regime.breath.turning(segment.start.bar, segment.start.bar_per_min, segment.minutes);
            let turn = turn.filter(|turn| *turn > begins);
            for minutes in [Some(begins), turn, Some(segment.minutes)].into_iter().flatten() {
                let (t, bar) = (segment.start.t_min + minutes, segment.bar_at(minutes));
                let o2 = segment.regime.breath.o2_at(minutes, bar);
                let at = found.get_or_insert(Extremes {
                    least_o2: (f64::INFINITY, t),
                    least_po2_bar: (f64::INFINITY, t),
                    greatest_po2_bar: (f64::NEG_INFINITY, t),
                    greatest_bar: (f64::NEG_INFINITY, t),
                });
                let lower = |seen: &mut (f64, f64), value: f64| {
                    if value < seen.0 {
                        *seen = (value, t);
                    }
                };
                let higher = |seen: &mut (f64, f64), value: f64| {
                    if value > seen.0 {
                        *seen = (value, t);
                    }
                };
                lower(&mut at.least_o2, o2 - band);
                lower(&mut at.least_po2_bar, (o2 - band) * bar);
                higher(&mut at.greatest_po2_bar, (o2 + band) * bar);
                higher(&mut at.greatest_bar, bar);
            }
        }
        found
    }

    /// What the body and the absorbent have taken at the end.
    pub fn exposure(&self) -> Exposure {
        self.end.exposure
    }
}
