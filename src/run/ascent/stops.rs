//! What lies ahead of a diver on the way up: what the tissues allow, asked before it is done.

use serde::Serialize;

use crate::physics::tissues::{Gradients, Line, Tissues, Uptake};
use crate::physics::tolerance;
use crate::physics::{Mix, Water};
use crate::run::{Breath, Breathing, Leg, Limits, Planned, State, Why, Work, run};

/// Stops are made at multiples of this depth where a plan says nothing, metres (common practice, no source).
pub const GRID_M: f64 = 3.0;
/// Going over to another gas on the way up takes so long, minutes.
pub const SWITCH_MIN: f64 = 1.0;
/// Within a step of the way up these shares of it are looked at beside its end. The excess of a compartment over its
/// limit has no peak inside a step at one gradient, and where the gradient changes one of less than a millibar.
const INSIDE: [f64; 3] = [0.25, 0.5, 0.75];

/// How stops are worked out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stops {
    /// Gradient factors.
    pub gradients: Gradients,
    /// Stops are made at multiples of this depth, metres.
    pub grid_m: f64,
    /// The shallowest stop, metres, of the grid or not; the way from there is to the surface.
    pub shallowest_m: f64,
    /// A stop on a way up that needs none: its depth in metres, and minutes.
    pub safety: Option<(f64, f64)>,
}

impl Stops {
    /// The depth that a way up from `depth_m` leads to next: of the grid, the shallowest stop, or `to_m` where none of them is
    /// left between.
    pub(in crate::run) fn next_up_m(&self, depth_m: f64, to_m: f64) -> f64 {
        let grid = (libm::ceil((depth_m - tolerance::DEPTH_M) / self.grid_m) - 1.0) * self.grid_m;
        let next = if depth_m > self.shallowest_m + tolerance::DEPTH_M { grid.max(self.shallowest_m) } else { grid };
        if next < self.shallowest_m - tolerance::DEPTH_M || next <= to_m + tolerance::DEPTH_M { to_m } else { next }
    }

    /// Whether stops are made at a depth.
    pub(in crate::run) fn on_grid(&self, depth_m: f64) -> bool {
        let off = depth_m - libm::round(depth_m / self.grid_m) * self.grid_m;
        let is_last = (depth_m - self.shallowest_m).abs() <= tolerance::DEPTH_M;
        is_last || off.abs() <= tolerance::DEPTH_M && depth_m >= self.shallowest_m - tolerance::DEPTH_M
    }

    pub(in crate::run) fn is_sane(&self) -> bool {
        let (depth_m, minutes) = self.safety.unwrap_or((3.0, 0.0));
        self.gradients.is_sane()
            && (0.1..=30.0).contains(&self.grid_m)
            && (0.0..=30.0).contains(&self.shallowest_m)
            && (0.0..=30.0).contains(&depth_m)
            && (0.0..=60.0).contains(&minutes)
    }
}

/// How a way up is gone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ascent {
    /// Metres a minute.
    pub rate_m_per_min: f64,
    /// Within so many metres of the surface no more than so many metres a minute: the first and the second.
    pub last: Option<(f64, f64)>,
    /// How hard the diver works, stops included.
    pub work: Work,
}

/// How a diver gets out on open circuit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WayOut {
    /// Minutes at depth to solve the problem.
    pub problem_min: f64,
    /// How hard they breathe meanwhile.
    pub problem: Work,
    /// The way up.
    pub ascent: Ascent,
    /// How many breathe: what was breathed on the way in goes so many times on the way back.
    pub divers: f64,
    /// How breathing comes down on the way up, where it does.
    pub fade: Option<Fade>,
}

/// Gas that falls evenly to what the way up takes anyhow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fade {
    /// Free litres a minute at the surface, where the way up begins.
    pub from_lpm: f64,
    /// How long it takes, minutes.
    pub minutes: f64,
}

impl Fade {
    /// What is breathed so long after the way up was begun, free litres a minute at the surface, where it takes `to_lpm` in the
    /// end.
    pub fn lpm_after(&self, minutes: f64, to_lpm: f64) -> f64 {
        let left = if self.minutes > 0.0 { (1.0 - minutes / self.minutes).clamp(0.0, 1.0) } else { 0.0 };
        to_lpm + (self.from_lpm - to_lpm).max(0.0) * left
    }
}

/// Metres a minute up where a plan says no rate (common practice, no source).
pub const ASCENT_RATE: f64 = 9.0;

impl Default for Ascent {
    fn default() -> Ascent {
        Ascent { rate_m_per_min: ASCENT_RATE, last: None, work: Work::default() }
    }
}

impl Ascent {
    /// The way from a depth up to another, at one speed each: where to, how fast in metres a minute, and minutes. The second is
    /// none where the speed does not change under way.
    pub fn pieces(&self, from_m: f64, to_m: f64) -> impl Iterator<Item = Piece> + use<> {
        let usual = self.rate_m_per_min;
        let piece = |from_m: f64, to_m: f64, rate_m_per_min: f64| Piece {
            to_m,
            rate_m_per_min,
            minutes: (from_m - to_m).abs() / rate_m_per_min,
        };
        let (first, second) = match self.last {
            Some((within_m, rate)) if to_m < within_m - tolerance::DEPTH_M && rate < usual => {
                if from_m > within_m + tolerance::DEPTH_M {
                    (piece(from_m, within_m, usual), Some(piece(within_m, to_m, rate)))
                } else {
                    (piece(from_m, to_m, rate), None)
                }
            }
            _ => (piece(from_m, to_m, usual), None),
        };
        [Some(first), second].into_iter().flatten()
    }

    /// Minutes from a depth up to another.
    pub fn minutes(&self, from_m: f64, to_m: f64) -> f64 {
        self.pieces(from_m, to_m).map(|piece| piece.minutes).sum()
    }

    pub(in crate::run) fn is_sane(&self) -> bool {
        let sane = |rate: f64| rate > 1e-3 && rate < 1e4;
        sane(self.rate_m_per_min) && self.last.is_none_or(|(within_m, rate)| within_m >= 0.0 && sane(rate))
    }
}

/// A part of a way up at one speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Where it leads, metres.
    pub to_m: f64,
    /// How fast, metres a minute.
    pub rate_m_per_min: f64,
    /// How long it takes.
    pub minutes: f64,
}

/// Times that every way up is made of, worked out once.
#[derive(Debug, Clone)]
pub(in crate::run) struct Paces {
    rate_m_per_min: f64,
    grid_m: f64,
    minute: Uptake,
    step: Uptake,
    quarter: Uptake,
}

impl Paces {
    pub(crate) fn of(ascent: &Ascent, grid_m: f64) -> Paces {
        let step_min = grid_m / ascent.rate_m_per_min;
        Paces {
            rate_m_per_min: ascent.rate_m_per_min,
            grid_m,
            minute: Uptake::over(1.0),
            step: Uptake::over(step_min),
            quarter: Uptake::over(0.25 * step_min),
        }
    }
}

/// A diver who asks what would be.
#[derive(Debug, Clone)]
#[expect(clippy::large_enum_variant, reason = "it lives for one search and is never stored")]
pub(in crate::run) enum Ahead<'a> {
    /// On open circuit: the mix stays, so that tissues are all there is to follow.
    Open { tissues: Tissues, mix: Mix, water: Water, depth_m: f64 },
    /// On a loop: by the run itself.
    Loop { state: State, sources: &'a [Box<dyn Breathing>] },
}

impl<'a> Ahead<'a> {
    /// From a state on; `None` where its tissues are not followed or there is no such source.
    pub(crate) fn of(now: &State, sources: &'a [Box<dyn Breathing>], work: Work) -> Option<Ahead<'a>> {
        let body = now.exposure.body?;
        let leg = Leg::new(now.depth_m().max(0.0), 1.0, work, Why::WayHome);
        Some(match sources.get(now.source)?.regime(now, &leg).breath {
            Breath::Open(mix) => Ahead::Open { tissues: body.tissues, mix, water: now.water, depth_m: now.depth_m() },
            _ => Ahead::Loop { state: now.clone().with_clocks_stopped(), sources },
        })
    }

    fn depth_m(&self) -> f64 {
        match self {
            Ahead::Open { depth_m, .. } => *depth_m,
            Ahead::Loop { state, .. } => state.depth_m(),
        }
    }

    fn tissues(&self) -> Option<&Tissues> {
        match self {
            Ahead::Open { tissues, .. } => Some(tissues),
            Ahead::Loop { state, .. } => state.exposure.body.as_ref().map(|body| &body.tissues),
        }
    }

    /// The same diver after so many minutes at the same depth.
    pub(crate) fn waited(&self, minutes: usize, paces: &Paces, work: Work) -> Ahead<'a> {
        match self {
            Ahead::Open { tissues, mix, water, depth_m } => {
                let bar = water.pressure_bar(*depth_m);
                let tissues = match minutes {
                    1 => paces.minute.of(tissues, *mix, bar, bar),
                    _ => tissues.after(*mix, bar, bar, minutes as f64),
                };
                Ahead::Open { tissues, mix: *mix, water: *water, depth_m: *depth_m }
            }
            Ahead::Loop { state, sources } => {
                let leg = [Leg::new(state.depth_m(), minutes as f64, work, Why::Stop)];
                let limits = Limits { end_only: true, ..Limits::unwatched() };
                let state = run(state.clone(), &mut Planned::new(&leg), sources, &limits).end;
                Ahead::Loop { state, sources }
            }
        }
    }

    /// The same diver after going straight to a depth; `None` if a limit is broken on the way or there.
    pub(crate) fn up(&self, to_m: f64, ascent: &Ascent, paces: &Paces, line: &Line) -> Option<Ahead<'a>> {
        let mut pieces = ascent.pieces(self.depth_m(), to_m);
        let first = self.up_piece(pieces.next()?, ascent.work, paces, line)?;
        pieces.try_fold(first, |there, piece| there.up_piece(piece, ascent.work, paces, line))
    }

    fn up_piece(&self, piece: Piece, work: Work, paces: &Paces, line: &Line) -> Option<Ahead<'a>> {
        let Piece { to_m, rate_m_per_min, minutes } = piece;
        match self {
            Ahead::Open { tissues, mix, water, depth_m } => {
                let whole = (depth_m - to_m - paces.grid_m).abs() < 1e-9 && rate_m_per_min == paces.rate_m_per_min;
                let (from_bar, to_bar) = (water.pressure_bar(*depth_m), water.pressure_bar(to_m));
                let end = if whole {
                    paces.step.of(tissues, *mix, from_bar, to_bar)
                } else {
                    tissues.after(*mix, from_bar, to_bar, minutes)
                };
                if !line.allows(&end, to_m, water) {
                    return None;
                }
                let mut inside = *tissues;
                for (number, share) in INSIDE.into_iter().enumerate() {
                    let at = from_bar + (to_bar - from_bar) * share;
                    inside = if whole {
                        paces.quarter.of(&inside, *mix, from_bar + (to_bar - from_bar) * 0.25 * number as f64, at)
                    } else {
                        tissues.after(*mix, from_bar, at, minutes * share)
                    };
                    if !line.allows(&inside, depth_m + (to_m - depth_m) * share, water) {
                        return None;
                    }
                }
                Some(Ahead::Open { tissues: end, mix: *mix, water: *water, depth_m: to_m })
            }
            Ahead::Loop { state, sources } => {
                let leg = [Leg::new(to_m, minutes, work, Why::WayHome)];
                let track = run(state.clone(), &mut Planned::new(&leg), sources, &Limits::unwatched());
                let allowed = |state: &State| {
                    let body = state.exposure.body.as_ref();
                    body.is_some_and(|body| line.allows(&body.tissues, state.depth_m().max(0.0), &state.water))
                };
                let began = state.t_min;
                let inside = || INSIDE.into_iter().all(|share| allowed(&track.at(began + minutes * share)));
                let arrived = (track.end.depth_m() - to_m).abs() <= tolerance::DEPTH_M;
                if !(arrived && allowed(&track.end) && inside()) {
                    return None;
                }
                Some(Ahead::Loop { state: track.end, sources })
            }
        }
    }

    /// By how much, bar, the compartment nearest to its limit is beyond it on a direct way to a depth, at one gradient;
    /// negative within it.
    pub(crate) fn worst_going_up_bar(&self, to_m: f64, ascent: &Ascent, gradient: f64) -> f64 {
        let begins = self.tissues().map_or(f64::INFINITY, |tissues| match self {
            Ahead::Open { water, depth_m, .. } => tissues.worst_bar(water.pressure_bar(*depth_m), gradient),
            Ahead::Loop { state, .. } => tissues.worst_bar(state.bar, gradient),
        });
        match self {
            Ahead::Open { tissues, mix, water, depth_m } => {
                let (mut tissues, mut from_bar, mut worst) = (*tissues, water.pressure_bar(*depth_m), begins);
                for piece in ascent.pieces(*depth_m, to_m) {
                    let to_bar = water.pressure_bar(piece.to_m);
                    tissues = tissues.after(*mix, from_bar, to_bar, piece.minutes);
                    worst = worst.max(tissues.worst_bar(to_bar, gradient));
                    from_bar = to_bar;
                }
                worst
            }
            Ahead::Loop { state, sources } => {
                let leg = |piece: Piece| Leg::new(piece.to_m, piece.minutes, ascent.work, Why::WayHome);
                let legs: Vec<Leg> = ascent.pieces(state.depth_m(), to_m).map(leg).collect();
                let track = run(state.clone(), &mut Planned::new(&legs), sources, &Limits::unwatched());
                let worst = |state: &State| {
                    let body = state.exposure.body.as_ref();
                    body.map_or(f64::INFINITY, |body| body.tissues.worst_bar(state.bar, gradient))
                };
                // Where the loop's gas changes its course a compartment may be nearer than at either end.
                let ends = track.segments.iter().map(|segment| worst(&segment.start));
                ends.chain([worst(&track.end)]).fold(begins, f64::max)
            }
        }
    }
}

/// The longest further stay that is looked at, minutes.
pub const LONGEST_STAY_MIN: f64 = 600.0;

/// How much longer the diver may stay where they are, working so hard, so that a direct way to the surface never exceeds
/// the limit at the gradient high, what is taken up and given off on the way counted: minutes; 0 where that time is over.
/// `None` where no limit comes within [`LONGEST_STAY_MIN`], or tissues are not followed.
pub fn no_stop_min(
    now: &State,
    sources: &[Box<dyn Breathing>],
    stops: &Stops,
    ascent: &Ascent,
    work: Work,
) -> Option<f64> {
    let ahead = Ahead::of(now, sources, work)?;
    let high = stops.gradients.high;
    match &ahead {
        Ahead::Open { tissues, mix, water, depth_m } => {
            let bar = water.pressure_bar(*depth_m);
            limit_of_stay(|minutes| {
                let tissues = tissues.after(*mix, bar, bar, minutes);
                Ahead::Open { tissues, mix: *mix, water: *water, depth_m: *depth_m }
                    .worst_going_up_bar(0.0, ascent, high)
            })
        }
        Ahead::Loop { state, sources } => {
            let leg = [Leg::new(state.depth_m().max(0.0), LONGEST_STAY_MIN, work, Why::Stop)];
            let staying = run(state.clone(), &mut Planned::new(&leg), sources, &Limits::unwatched());
            limit_of_stay(|minutes| {
                let then = staying.at(state.t_min + minutes);
                Ahead::Loop { state: then, sources }.worst_going_up_bar(0.0, ascent, high)
            })
        }
    }
}

/// Where what grows with the stay comes to 0.
fn limit_of_stay(worst_bar: impl Fn(f64) -> f64) -> Option<f64> {
    if worst_bar(0.0) >= 0.0 {
        return Some(0.0);
    }
    // Widened step by step: the first crossing is wanted, and near ones are the common ones.
    let (mut from, mut to) = (0.0, 8.0);
    while from < LONGEST_STAY_MIN {
        if worst_bar(to) >= 0.0 {
            return crate::physics::roots::zero(from, to, &worst_bar);
        }
        (from, to) = (to, (2.0 * to).min(LONGEST_STAY_MIN));
    }
    None
}
