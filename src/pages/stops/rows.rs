//! The rows of a table, from the legs of a run themselves.

use super::Doing;
use crate::forecast::Simulated;
use crate::pages::track::instant::cylinder_of;
use crate::pages::track::name;
use crate::physics::tolerance;
use crate::plan::LegKind;
use crate::rules::say;
use crate::run::{Act, Breath, Circuit, Leg, Segment, Track, Why};

/// A stretch of a dive: a way to a depth, or time at one.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// The depth that it leads to or is spent at, metres.
    pub depth_m: f64,
    /// How long it takes, minutes.
    pub minutes: f64,
    /// When it ends, minutes since leaving the surface.
    pub run_min: f64,
    /// What is breathed: the loop, or a cylinder by its name.
    pub breathing: String,
    /// The mix of that: what feeds the loop, or what the cylinder holds.
    pub mix: String,
    /// The least and the greatest partial pressure of oxygen that is breathed, bar.
    pub po2_bar: (f64, f64),
    /// Gas that it takes from the diver's cylinders, free litres.
    pub litres: f64,
    /// What it is for.
    pub doing: Doing,
    /// The leg's own reason, by which rows that belong together are told.
    why: Why,
}

/// The rows of a run, from a moment on or from leaving the surface.
pub(super) fn of(dive: &Simulated<'_>, track: &Track, from_min: Option<f64>) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut spent = track.spent.iter().peekable();
    let first_m = from_min.map_or(0.0, |from_min| track.depth_at(from_min));
    let mut before_m = first_m;
    for (number, (begins, leg)) in track.legs.iter().enumerate() {
        let ends = track.legs.get(number + 1).map_or(track.end.t_min, |(begins, _)| *begins);
        let does = matches!(leg.act, Act::Flush(_));
        let goes =
            |t_min: f64| t_min < ends - tolerance::INSTANT_MIN || (does && t_min <= begins + tolerance::INSTANT_MIN);
        let mut litres = 0.0;
        while let Some(one) = spent.next_if(|one| goes(one.t_min)) {
            litres += one.litres;
        }
        if *begins < from_min.unwrap_or(0.0) - tolerance::INSTANT_MIN || leg.why == Why::PreBreathe {
            before_m = leg.to_m;
            continue;
        }
        let own = || track.segments.iter().filter(|segment| segment.leg == number);
        let Some(shown) = own().next().or_else(|| track.segments.iter().find(|segment| segment.leg >= number)) else {
            continue;
        };
        let doing = doing(dive, leg, before_m, from_min.is_some() && rows.is_empty());
        before_m = leg.to_m;
        let is_told = ends - begins > tolerance::MINUTES || matches!(doing, Doing::Switch | Doing::Flush);
        if !is_told {
            if let Some(last) = rows.last_mut() {
                last.litres += litres;
            }
            continue;
        }
        let drawn = own().flat_map(|segment| segment.regime.draws.iter().map(|draw| draw.litres(segment.minutes)));
        litres += drawn.sum::<f64>();
        let (breathing, mix) = breathed(dive, shown);
        let po2 = || {
            own().chain(own().next().is_none().then_some(shown)).flat_map(|segment| segment.po2_within(ends - begins))
        };
        let row = Row {
            depth_m: leg.to_m,
            minutes: ends - begins,
            run_min: ends,
            breathing,
            mix,
            po2_bar: (po2().fold(f64::INFINITY, f64::min), po2().fold(f64::NEG_INFINITY, f64::max)),
            litres,
            doing,
            why: leg.why,
        };
        match rows.last_mut().filter(|last| last.goes_on_in(&row)) {
            Some(last) => last.take_in(row),
            None => rows.push(row),
        }
    }
    rows
}

impl Row {
    /// Whether another is the same stretch going on.
    fn goes_on_in(&self, next: &Row) -> bool {
        let moves = matches!(self.doing, Doing::Ascend | Doing::Descend);
        let there = moves || (self.depth_m - next.depth_m).abs() < tolerance::DEPTH_M;
        self.doing == next.doing && self.why == next.why && self.breathing == next.breathing && there
    }

    fn take_in(&mut self, next: Row) {
        self.depth_m = next.depth_m;
        self.minutes += next.minutes;
        self.run_min = next.run_min;
        self.po2_bar = (self.po2_bar.0.min(next.po2_bar.0), self.po2_bar.1.max(next.po2_bar.1));
        self.litres += next.litres;
    }
}

/// What a leg is for. `leaves` says that it is the first of a way out.
fn doing(dive: &Simulated<'_>, leg: &Leg, before_m: f64, leaves: bool) -> Doing {
    let moves = leg.to_m - before_m;
    let stays = moves.abs() < tolerance::DEPTH_M;
    let goes = if moves > 0.0 { Doing::Descend } else { Doing::Ascend };
    let asked = |number: usize| dive.dive.legs().get(number).map(|leg| &leg.kind);
    match leg.why {
        Why::Stop => Doing::Stop,
        Why::SafetyStop => Doing::SafetyStop,
        Why::Switch => Doing::Switch,
        _ if !stays => goes,
        Why::Asked(number) => match asked(number) {
            Some(LegKind::Stop { .. }) => Doing::Stop,
            Some(LegKind::Switch(_)) => Doing::Switch,
            Some(LegKind::Flush { .. }) => Doing::Flush,
            Some(LegKind::OffLoop { .. }) => Doing::OffLoop,
            Some(LegKind::BailOut { .. }) => Doing::BailOut,
            _ => Doing::Stay,
        },
        Why::BailOut if leaves && dive.ran.dive.circuit.loop_l() > 0.0 => Doing::OffLoop,
        Why::BailOut => Doing::BailOut,
        Why::PreBreathe | Why::WayHome => Doing::Stay,
    }
}

/// What is breathed on a segment, and its mix.
fn breathed(dive: &Simulated<'_>, segment: &Segment) -> (String, String) {
    let cylinders = &dive.ran.dive.cylinders;
    let mix_of = |cylinder: Option<usize>| {
        cylinder
            .and_then(|cylinder| cylinders.get(cylinder))
            .map_or_else(String::new, |cylinder| say::mix(cylinder.mix))
    };
    if matches!(segment.regime.breath, Breath::Open(_)) {
        let cylinder = cylinder_of(dive, segment.start.source);
        return (cylinder.map_or("?", |cylinder| name(dive, cylinder)).to_owned(), mix_of(cylinder));
    }
    let fed_from = match &dive.ran.dive.circuit {
        Circuit::Open(open) => Some(open.cylinder),
        circuit => circuit.feeds(),
    };
    ("loop".to_owned(), mix_of(fed_from))
}
