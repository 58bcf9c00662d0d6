//! Contingencies: the same dive with one thing worse, from its worst moment, by the same simulator.

mod story;
mod trials;
mod trouble;

pub use story::story;
pub use trials::{Buddy, REACT_MIN, Trials};
pub use trouble::Trouble;

use std::rc::Rc;

use crate::physics::{SetPoint, tolerance};
use crate::run::ascent::stops::{Paces, Piece};
use crate::run::{
    Breathing, Circuit, Escape, EventKind, Leg, Limits, Planned, Profile, Scenario, State, Track, WayOut, Why, Work,
    run,
};

/// Hard work: so many minutes at peak, then so many at heavy work.
const PEAK_MIN: f64 = 5.0;
const HEAVY_MIN: f64 = 5.0;
/// Whoever stays with a failed feed and hears no alarm goes on so long, minutes.
const STAYS_MIN: f64 = 10.0;
/// The greatest partial pressure of oxygen on any run, bar: beyond it no gas is meant to be breathed (common practice, no
/// source).
const GREATEST_BAR: f64 = 1.6;
/// So far below its set-point a closed loop is seen to fail, bar (common practice, no source).
const OFF_BAR: f64 = 0.2;

/// What comes of a trouble, from its worst moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// The trouble.
    pub trouble: Trouble,
    /// When it strikes, minutes since leaving the surface.
    pub t_min: f64,
    /// How deep the diver is then, metres.
    pub depth_m: f64,
    /// How it ends.
    pub margin: Margin,
}

/// How far from harm, or into it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Margin {
    /// Gas that the way out leaves, free litres; below 0 what it lacks.
    Gas(f64),
    /// The least partial pressure of oxygen until the diver leaves the loop, bar, against that at which one may faint.
    Oxygen {
        /// The least, bar.
        least_bar: f64,
        /// Where a diver may faint, bar.
        faint_bar: f64,
    },
    /// The greatest partial pressure of oxygen, bar, beyond what any gas is meant for.
    TooMuchOxygen(f64),
    /// The gas that feeds the diver ends before the dive does, so many minutes into it.
    FeedEnds(f64),
    /// The way home does not end.
    NeverSurfaces,
}

impl Margin {
    /// Whether it is on the right side.
    pub fn is_covered(&self) -> bool {
        match *self {
            Margin::Gas(litres) => litres >= -tolerance::LITRES,
            Margin::Oxygen { least_bar, faint_bar } => least_bar >= faint_bar - tolerance::PO2_BAR,
            Margin::TooMuchOxygen(_) | Margin::FeedEnds(_) | Margin::NeverSurfaces => false,
        }
    }

    /// Greater where it is worse: harm of any kind before none, more of it before less.
    fn badness(&self) -> f64 {
        match *self {
            Margin::Gas(litres) if litres < -tolerance::LITRES => 1e3 - litres,
            Margin::Gas(litres) => -litres.min(1e5),
            Margin::Oxygen { least_bar, faint_bar } if least_bar < faint_bar - tolerance::PO2_BAR => {
                1e7 + faint_bar - least_bar
            }
            // As close as this to fainting is worth more words than any gas that is left.
            Margin::Oxygen { least_bar, faint_bar } => -1e5 * (least_bar - faint_bar).clamp(0.0, 1.0),
            Margin::TooMuchOxygen(bar) => 1e6 + bar,
            Margin::FeedEnds(_) => 1e6,
            Margin::NeverSurfaces => 1e9,
        }
    }
}

impl Outcome {
    /// Whether the diver gets home.
    pub fn is_covered(&self) -> bool {
        self.margin.is_covered()
    }
}

/// What comes of every trouble that this dive can meet; none where nothing says what the diver breathes on the way out.
/// `escapes` are the ways out from every minute of `track`.
pub fn outcomes(dive: &Profile, track: &Track, escapes: &[Escape]) -> Vec<Outcome> {
    let (Some(out), Some(trial)) = (dive.home.out, Trial::of(dive, track, escapes)) else { return Vec::new() };
    let all = Trouble::all(dive, track).into_iter().filter_map(|trouble| trial.outcome(trouble, &out));
    let (twins, mut others): (Vec<Outcome>, Vec<Outcome>) =
        all.partition(|one| matches!(one.trouble, Trouble::TwinLost(_)));
    // Whichever of several is lost, one of them is.
    others.extend(worst_of(twins.into_iter()));
    others
}

/// What a trial goes by.
struct Trial<'a> {
    dive: &'a Profile,
    track: &'a Track,
    /// The moment from which the way out takes most.
    worst: &'a Escape,
    /// Times of the way out, worked out once.
    paces: Rc<Paces>,
}

impl<'a> Trial<'a> {
    fn of(dive: &'a Profile, track: &'a Track, escapes: &'a [Escape]) -> Option<Trial<'a>> {
        let takes = |escape: &Escape| escape.draws_l.iter().sum::<f64>();
        let worst = escapes.iter().max_by(|a, b| takes(a).total_cmp(&takes(b)))?;
        let paces = Rc::new(Paces::of(&dive.home.out?.ascent, dive.home.grid_m()));
        Some(Trial { dive, track, worst, paces })
    }

    fn outcome(&self, trouble: Trouble, out: &WayOut) -> Option<Outcome> {
        let mut worse = trouble.worsen(self.dive);
        worse.carried.clocks_stopped = true;
        let sources = worse.sources();
        if trouble.is_of_the_dive() {
            return self.overrun(trouble, &worse, out);
        }
        if trouble.is_of_the_loop() {
            let of = |t_min: f64| self.with_failed_loop(trouble, &worse, &sources, out, t_min);
            return worst_of(self.on_the_loop().into_iter().flat_map(of));
        }
        let out = trouble.way_out(self.dive, out);
        let mut from = self.track.without_clocks_at(self.worst.t_min);
        trouble.strike(&mut from);
        Some(outcome(trouble, &from, gas(&worse.escape_at(from.clone(), &sources, &out, self.paces.clone()))))
    }

    /// The moments that are worst for a loop, between which it goes one way: where stays and ways down end, where a stay
    /// begins after a way up, and where the last stop does, the shallowest place that is breathed for a while.
    fn on_the_loop(&self) -> Vec<f64> {
        let legs = &self.track.legs;
        let last_stop = legs.iter().rposition(|(_, leg)| leg.why == Why::Stop && leg.lasts_min > 0.0);
        let is_worst = |number: usize| -> bool {
            let (Some((_, leg)), next) = (legs.get(number), legs.get(number + 1)) else { return false };
            let from_m =
                number.checked_sub(1).and_then(|before| legs.get(before)).map_or(0.0, |(_, before)| before.to_m);
            let comes_up = leg.to_m < from_m - tolerance::DEPTH_M;
            let stays_next =
                next.is_some_and(|(_, next)| (next.to_m - leg.to_m).abs() < tolerance::DEPTH_M && next.lasts_min > 0.0);
            let stop = matches!(leg.why, Why::Stop | Why::Switch);
            match next.map(|(_, next)| next.why) {
                Some(Why::Stop | Why::Switch) if comes_up => Some(number + 1) == last_stop,
                _ if comes_up => stays_next,
                _ => !stop,
            }
        };
        let ends =
            legs.iter().skip(1).enumerate().filter(|(number, _)| is_worst(*number)).map(|(_, (begins, _))| *begins);
        let under = |t_min: &f64| {
            let on_loop =
                self.track.segment_at(*t_min).map_or(self.track.end.source, |segment| segment.start.source) == 0;
            *t_min >= 0.0 && self.track.depth_at(*t_min) > tolerance::DEPTH_M && on_loop
        };
        let mut moments: Vec<f64> = ends.filter(under).collect();
        moments.dedup_by(|a, b| (*a - *b).abs() < tolerance::MINUTES);
        moments
    }

    /// How hard the diver works at a moment: as on the stay that begins or ends there, else as on the leg that led there.
    fn work_at(&self, t_min: f64, depth_m: f64) -> Option<Work> {
        let after = self.track.legs.partition_point(|(begins, _)| *begins < t_min - tolerance::MINUTES);
        let before = self.track.legs.get(after.checked_sub(1)?)?.1;
        let next = self.track.legs.get(after).map(|(_, leg)| leg);
        let stays = next.filter(|leg| (leg.to_m - depth_m).abs() < tolerance::DEPTH_M && leg.lasts_min > 0.0);
        Some(stays.map_or(before.work, |leg| leg.work))
    }

    /// The loop fails at a moment. Gas is asked for as deep as the way out takes most, oxygen everywhere. The diver stays, or goes up at once; hears the alarm, and leaves the loop a while later.
    fn with_failed_loop(
        &self,
        trouble: Trouble,
        worse: &Profile,
        sources: &[Box<dyn Breathing>],
        out: &WayOut,
        t_min: f64,
    ) -> Vec<Outcome> {
        let mut from = self.track.without_clocks_at(t_min);
        let limits = alarms(self.dive, trouble, &from);
        trouble.takes_over(&mut from);
        let depth_m = from.depth_m();
        let asks_for_gas = depth_m >= self.worst.depth_m - tolerance::DEPTH_M;
        if !asks_for_gas {
            // Tissues are for the way out alone.
            from.exposure.body = None;
        }
        let trials = worse.home.trials;
        let mut courses = vec![self.staying(trouble, worse, &from, t_min)];
        if trouble != Trouble::HardWork {
            let work = self.work_at(t_min, depth_m).unwrap_or(worse.rest);
            let up = |piece: Piece| Leg::new(piece.to_m, piece.minutes, work, Why::WayHome);
            let mut course: Vec<Leg> = worse.way_back(&from, work, 1.0, Why::WayHome).into();
            course.extend(worse.home.ascent.pieces(depth_m, 0.0).map(up));
            courses.push(course);
        }
        let of = |legs: Vec<Leg>| {
            let going = run(from.clone(), &mut Planned::new(&legs), sources, &limits);
            let leaves = leaves_loop(&going, &limits, trouble, trials.react_min);
            let state = going.at(leaves);
            let least_bar = least_po2(&going, leaves);
            let oxygen = Margin::Oxygen { least_bar, faint_bar: limits.faint_bar };
            let greatest_bar = greatest_po2(&going, leaves);
            let margin = if !oxygen.is_covered() {
                oxygen
            } else if trouble == Trouble::ControllerStuckOpen && greatest_bar > GREATEST_BAR + tolerance::PO2_BAR {
                Margin::TooMuchOxygen(greatest_bar)
            } else if state.depth_m() > tolerance::DEPTH_M && asks_for_gas {
                gas(&worse.escape_at(state, sources, out, self.paces.clone()))
            } else {
                oxygen
            };
            outcome(trouble, &from, margin)
        };
        courses.into_iter().map(of).collect()
    }

    /// What a diver does who stays with a loop that has failed.
    fn staying(&self, trouble: Trouble, worse: &Profile, from: &State, t_min: f64) -> Vec<Leg> {
        let (depth_m, trials) = (from.depth_m().max(0.0), worse.home.trials);
        let stay = |minutes: f64, work: Work| Leg::new(depth_m, minutes, work, Why::WayHome);
        if trouble == Trouble::HardWork {
            return vec![stay(PEAK_MIN, trials.peak), stay(HEAVY_MIN, trials.heavy)];
        }
        vec![stay(STAYS_MIN, self.work_at(t_min, depth_m).unwrap_or(worse.rest))]
    }

    /// The dive goes deeper, or longer.
    fn overrun(&self, trouble: Trouble, worse: &Profile, out: &WayOut) -> Option<Outcome> {
        let track = worse.run();
        let sources = worse.sources();
        let ends = track.legs.iter().skip(1).map(|(begins, _)| *begins);
        let under = |t_min: &f64| *t_min >= 0.0 && track.depth_at(*t_min) > tolerance::DEPTH_M;
        let ways_out: Vec<Outcome> = ends
            .filter(under)
            .map(|t_min| {
                let from = track.without_clocks_at(t_min);
                outcome(trouble, &from, gas(&worse.escape_at(from.clone(), &sources, out, self.paces.clone())))
            })
            .collect();
        let at = |t_min: f64, margin: Margin| Outcome { trouble, t_min, depth_m: track.depth_at(t_min), margin };
        let empty = track.events.iter().find(|event| matches!(event.kind, EventKind::CylinderEmpty(_)));
        let empty = empty.map(|event| at(event.t_min, Margin::FeedEnds(event.t_min)));
        let extremes = track.extremes(0.0, &worse.limits);
        let low = extremes.map(|extremes| {
            let (least_bar, t_min) = extremes.least_po2_bar;
            at(t_min, Margin::Oxygen { least_bar, faint_bar: worse.limits.faint_bar })
        });
        let greatest = match trouble {
            // What a way down brings passes.
            Trouble::CellsLow => greatest_held(&track),
            _ => extremes.map(|extremes| extremes.greatest_po2_bar),
        };
        let high = greatest.filter(|(bar, _)| *bar > GREATEST_BAR + tolerance::PO2_BAR);
        let high = high.map(|(bar, t_min)| at(t_min, Margin::TooMuchOxygen(bar)));
        let under = track.never_surfaces().map(|_| at(track.end.t_min, Margin::NeverSurfaces));
        worst_of(ways_out.into_iter().chain(under).chain(empty).chain(low.filter(|low| !low.is_covered())).chain(high))
    }
}

fn outcome(trouble: Trouble, from: &State, margin: Margin) -> Outcome {
    Outcome { trouble, t_min: from.t_min, depth_m: from.depth_m(), margin }
}

fn worst_of(outcomes: impl Iterator<Item = Outcome>) -> Option<Outcome> {
    outcomes.max_by(|a, b| a.margin.badness().total_cmp(&b.margin.badness()))
}

fn gas(escape: &Escape) -> Margin {
    Margin::Gas(if escape.lacks_l > tolerance::LITRES { -escape.lacks_l } else { escape.spare_l })
}

/// What tells a diver that the loop fails: on a closed one, whose PO2 is shown and looked at, so much below the set-point.
fn alarms(dive: &Profile, trouble: Trouble, from: &State) -> Limits {
    let limits = Limits { absorbent_min: f64::INFINITY, ..dive.limits };
    let closed = matches!(dive.circuit, Circuit::Closed(_)) && trouble != Trouble::DiluentLost;
    match from.set_point.and_then(SetPoint::bar).filter(|_| closed) {
        Some(held) => {
            Limits { least_bar: limits.least_bar.max((held - OFF_BAR).min(from.breathed.o2 * from.bar)), ..limits }
        }
        None => limits,
    }
}

/// When the diver leaves the loop: a while after the first alarm, at once where there is nothing to breathe in it or the
/// oxygen runs away; else at the run's end.
fn leaves_loop(going: &Track, limits: &Limits, trouble: Trouble, react_min: f64) -> f64 {
    let begins = going.start();
    let now_bar = begins.breathed.o2 * begins.bar;
    let now = begins.breathed.o2 < limits.floor_o2 - tolerance::FRACTION || now_bar < limits.least_bar;
    let first =
        |kinds: &[EventKind]| going.events.iter().find(|event| kinds.contains(&event.kind)).map(|event| event.t_min);
    let alarm = if now { Some(begins.t_min) } else { first(&[EventKind::BelowFloor, EventKind::OxygenLow]) };
    let alarmed = alarm.map_or(f64::INFINITY, |alarm| alarm + react_min);
    let short = first(&[EventKind::LoopShort]).unwrap_or(f64::INFINITY);
    let runs_away = || first(&[EventKind::OxygenHigh]).unwrap_or(begins.t_min);
    let over = if trouble == Trouble::OxygenStuckOpen { runs_away() } else { f64::INFINITY };
    alarmed.min(short).min(over).min(going.end.t_min)
}

/// The greatest partial pressure of oxygen that is breathed at the end of a stay or on a way up, with its moment.
fn greatest_held(track: &Track) -> Option<(f64, f64)> {
    let held = track.segments.iter().filter(|segment| segment.start.bar_per_min <= 0.0 && segment.start.t_min >= 0.0);
    let ends = held.map(|segment| (segment.po2_at(segment.minutes), segment.start.t_min + segment.minutes));
    ends.max_by(|a, b| a.0.total_cmp(&b.0))
}

fn least_po2(going: &Track, until_min: f64) -> f64 {
    po2_until(going, until_min).fold(f64::INFINITY, f64::min)
}

fn greatest_po2(going: &Track, until_min: f64) -> f64 {
    po2_until(going, until_min).fold(f64::NEG_INFINITY, f64::max)
}

/// The partial pressures that are breathed where pieces of a run begin, turn and end, up to a moment.
fn po2_until(going: &Track, until_min: f64) -> impl Iterator<Item = f64> {
    let begun = going.segments.iter().filter(move |segment| segment.start.t_min < until_min);
    begun.flat_map(move |segment| segment.po2_within(until_min - segment.start.t_min))
}

impl Circuit {
    fn is_loop(&self) -> bool {
        self.loop_l() > 0.0
    }
}
