//! A leg: what each diver has when it ends.

use std::collections::BTreeMap;

use super::{Figure, Figures};
use crate::forecast::{Day, Missing, Neighbour, Simulated, SimulationCache};
use crate::pages::track::{instant::Instant, name};
use crate::physics::tissues::Line;
use crate::physics::tolerance;
use crate::plan::{ApparatusKind, Plan, Role, Scope};
use crate::rules::mix::narcotic;
use crate::rules::say;
use crate::run::{Breath, Halt, Segment};
use crate::source::Place;

/// What one diver has when a leg ends.
#[derive(Debug, Clone)]
pub(crate) struct LegEnd<'a> {
    dive: Simulated<'a>,
    begins_min: f64,
    ends_min: f64,
    /// How often the leg is gone through; the figures are of the last time.
    times: usize,
    /// Whether it is a way home whose stops are left to be worked out.
    open_home: bool,
    instant: Instant,
}

/// What a diver has when a leg ends, or the facts without which nobody can say, by the place of the leg's header.
pub(crate) type Ends<'a> = BTreeMap<&'a Place, Vec<(&'a str, Result<LegEnd<'a>, Vec<Missing>>)>>;

/// The ends of all legs of a plan, for each diver that goes along them, in the plan's order.
pub(crate) fn ends<'a>(scope: &Scope, runs: &SimulationCache, plan: &'a Plan, earlier: &'a [Neighbour]) -> Ends<'a> {
    let mut ends: Ends<'a> = BTreeMap::new();
    for (dive, simulated) in Day::of(scope, runs, plan, earlier).iter() {
        let diver = &*dive.member.name.value;
        let mut last: BTreeMap<&'a Place, (usize, usize)> = BTreeMap::new();
        for (number, leg) in dive.legs().iter().enumerate() {
            let (times, at) = last.entry(&leg.place).or_default();
            (*times, *at) = (*times + 1, number);
        }
        let shown = simulated.as_ref().map(Simulated::shown);
        for (place, (times, number)) in last {
            let end = match &shown {
                Ok(dive) => LegEnd::of(dive, number, times).map(Ok),
                Err(missing) => Some(Err((*missing).clone())),
            };
            ends.entry(place).or_default().extend(end.map(|end| (diver, end)));
        }
    }
    ends
}

/// The figures of the leg whose header stands at a place; `None` where no diver goes along it.
pub(crate) fn figures(ends: &Ends<'_>, place: &Place) -> Option<Figures> {
    let divers = ends.get(place)?;
    let mut rows = Vec::new();
    for (diver, end) in divers {
        match end {
            Ok(end) => rows.extend(end.rows(diver)),
            Err(missing) if missing.is_empty() => {}
            Err(missing) => {
                let facts: Vec<&str> = missing.iter().map(|missing| &*missing.fact).collect();
                rows.push(Figure::new(*diver, format!("not worked out for want of {}", facts.join(", "))));
            }
        }
    }
    if rows.is_empty() {
        return None;
    }
    let times = divers.iter().filter_map(|(_, end)| Some(end.as_ref().ok()?.times)).max().unwrap_or(1);
    let when = if times > 1 { format!("the last of {times} times") } else { "as planned".to_owned() };
    Some(Figures { title: "at the end of this leg".to_owned(), when, rows })
}

/// A leg's end in one line, for all its divers: run time, loop oxygen and PO2, gas left. `None` where nothing is known.
pub(crate) fn line<'a>(divers: &[(&str, Result<LegEnd<'a>, Vec<Missing>>)]) -> Option<String> {
    let known: Vec<(&str, &LegEnd<'a>)> =
        divers.iter().filter_map(|(diver, end)| Some((*diver, end.as_ref().ok()?))).collect();
    let (_, first) = known.first()?;
    let all = |what: fn(&LegEnd<'a>) -> String| {
        let said = what(first);
        known.iter().all(|(_, end)| what(end) == said).then_some(said)
    };
    // What is the same for all is said once, the rest diver by diver.
    let figures: [fn(&LegEnd<'a>) -> String; 3] = [LegEnd::run_time, LegEnd::breath, LegEnd::gas];
    let mut parts = Vec::new();
    for what in figures {
        parts.push(all(what).unwrap_or_else(|| {
            let each: Vec<String> = known.iter().map(|(diver, end)| format!("{diver} {}", what(end))).collect();
            each.join(", ")
        }));
    }
    Some(parts.join(" · "))
}

/// Stops in one line.
fn stops_of(stops: &[Halt]) -> String {
    let one = |stop: &Halt| format!("{} m {} min", say::number(stop.depth_m), say::number(say::up(stop.minutes, 1.0)));
    let each: Vec<String> = stops.iter().map(one).collect();
    if each.is_empty() { "no stops".to_owned() } else { format!("stops {}", each.join(", ")) }
}

impl<'a> LegEnd<'a> {
    fn of(dive: &Simulated<'a>, number: usize, times: usize) -> Option<LegEnd<'a>> {
        let (begins_min, ends_min) = dive.leg_min(number)?;
        // What takes no time counts by what is true after it.
        let takes_time = ends_min > begins_min;
        let instant = if takes_time { Instant::ending(dive, ends_min)? } else { Instant::at(dive, ends_min)? };
        let leg = dive.dive.legs().get(number)?;
        let open_home = leg.is_way_home();
        Some(LegEnd { dive: dive.clone(), begins_min, ends_min, times, open_home, instant })
    }

    fn run_time(&self) -> String {
        let time = say::run_time(self.ends_min);
        if self.open_home { format!("{time}, {}", self.stops()) } else { time.into() }
    }

    /// The stops of a way home that the plan leaves open.
    fn stops(&self) -> String {
        if self.dive.ran.dive.home.stops.is_none() {
            return "straight up, no gradient".to_owned();
        }
        if self.dive.ran.never_surfaces().is_some() {
            return "never surfaces".to_owned();
        }
        let stops = self.dive.ran.track.stops();
        let here = |stop: &&Halt| {
            (self.begins_min - tolerance::MINUTES..self.ends_min + tolerance::MINUTES).contains(&stop.t_min)
        };
        stops_of(&stops.into_iter().filter(|stop| here(&stop)).collect::<Vec<_>>())
    }

    /// What is breathed: the loop's oxygen where it is, and the partial pressure.
    fn breath(&self) -> String {
        let po2 = format!("PO2 {} bar", say::po2(self.instant.po2_bar));
        match (self.instant.open_circuit, self.instant.loop_o2) {
            (None, Some(o2)) => format!("{} %, {po2}", say::percent_had(o2)),
            _ => po2,
        }
    }

    /// The cylinders in use: the one breathed on open circuit, else those that feed the loop.
    fn in_use(&self) -> Vec<usize> {
        if let Some(cylinder) = self.instant.open_circuit {
            return vec![cylinder];
        }
        let roles: &[Role] = match self.dive.dive.kind() {
            Some(ApparatusKind::Closed) => &[Role::Oxygen, Role::Diluent],
            _ => &[Role::Supply],
        };
        roles.iter().filter_map(|role| self.dive.of_role(*role)).collect()
    }

    fn left(&self, cylinder: usize) -> String {
        self.instant.gauge_bar(cylinder).map_or_else(|| "–".to_owned(), |bar| say::pressure_had(bar).into())
    }

    fn gas(&self) -> String {
        let left: Vec<String> = self.in_use().into_iter().map(|cylinder| self.left(cylinder)).collect();
        format!("{} bar", left.join("/"))
    }

    fn rows(&self, diver: &str) -> Vec<Figure> {
        let state = &self.instant.state;
        let lasts = self.ends_min - self.begins_min;
        let time = Figure::new(format!("{diver}, run time"), self.run_time()).with_step(
            "begins + lasts",
            format!("{} + {}", say::run_time(self.begins_min), say::run_time(lasts)),
            format!("{:.3} min", self.ends_min),
        );
        let (water, depth, bar) = (state.water, state.depth_m(), state.bar);
        let o2 = if bar > 0.0 { self.instant.po2_bar / bar } else { 0.0 };
        let label = if self.instant.open_circuit.is_none() { "loop oxygen and PO2" } else { "PO2" };
        let mut breath = Figure::new(format!("{diver}, {label}"), self.breath());
        if let Some((formula, numbers)) = self.fraction() {
            breath = breath.with_step(formula, numbers, format!("{:.3} %", o2 * 100.0));
        }
        breath = breath
            .with_step(
                "P = Ps + k·depth",
                format!("{:.4} + {:.5}·{depth:.2}", water.surface_bar, water.bar_per_m),
                format!("{bar:.4} bar"),
            )
            .with_step("PO2 = F·P", format!("{o2:.5}·{bar:.4}"), format!("{:.4} bar", self.instant.po2_bar));
        let mut rows = vec![time, breath];
        rows.extend(self.as_on_air(diver));
        rows.extend(self.decompression(diver));
        rows.extend(self.in_use().into_iter().filter_map(|cylinder| self.gas_left(diver, cylinder)));
        if let Some(minutes) = self.instant.absorbent_min {
            let value = format!("{} min left of the first canister", say::minutes_had(minutes));
            let limit = self.dive.ran.dive.limits.absorbent_min;
            rows.push(Figure::new(format!("{diver}, absorbent"), value).with_step(
                "left at the start − used at max(1, CO2/rated)",
                format!("{limit:.2} − {:.2}", state.exposure.absorbent_min),
                format!("{minutes:.2} min"),
            ));
        }
        rows
    }

    /// How deep it would be on air: END, and EAD where no helium is breathed.
    fn as_on_air(&self, diver: &str) -> Option<Figure> {
        let (instant, state) = (&self.instant, &self.instant.state);
        if state.depth_m() <= 0.0 {
            return None;
        }
        let whole = |depth_m: f64| say::number(say::up(depth_m, 1.0));
        let air = instant.air_m.map_or_else(String::new, |depth_m| format!(", EAD {} m", whole(depth_m)));
        let counts = narcotic::counts(&self.dive.dive.plan.limits);
        let mut figure =
            Figure::new(format!("{diver}, as on air"), format!("END {} m{air}", whole(instant.narcotic_m)));
        figure.working.push(narcotic::working(instant.mix, state.bar, &state.water, counts));
        if let Some(depth_m) = instant.air_m {
            figure = figure.with_step(
                "EAD = ((1 − O2)/0.79·P − Ps)/k",
                format!(
                    "((1 − {:.4})/0.79·{:.4} − {:.4})/{:.5}",
                    instant.mix.o2, state.bar, state.water.surface_bar, state.water.bar_per_m
                ),
                format!("{depth_m:.2} m"),
            );
        }
        Some(figure)
    }

    /// What the tissues ask for: on the way home its stops, elsewhere the time left without any.
    fn decompression(&self, diver: &str) -> Vec<Figure> {
        let ran = &self.dive.ran;
        let Some(stops) = ran.dive.home.stops else { return Vec::new() };
        if !self.open_home {
            return self.to_come(diver).into_iter().collect();
        }
        let first_stop_m = ran.track.stops().first().map_or(0.0, |stop| stop.depth_m);
        let line = Line { gradients: stops.gradients, first_stop_m };
        let mut planned = Figure::new(format!("{diver}, way home"), self.stops());
        for stop in ran.track.stops() {
            let Some(instant) = Instant::at(&self.dive, stop.t_min + 0.5 * stop.minutes) else { continue };
            let gas = instant.open_circuit.map_or("loop", |cylinder| name(&self.dive, cylinder));
            planned = planned.with_step(
                format!("stop at {} m on {gas:?}", say::number(stop.depth_m)).replace("\"loop\"", "the loop"),
                format!("from {} on, gradient {:.0} %", say::run_time(stop.t_min), line.at(stop.depth_m) * 100.0),
                format!("{} min", say::number(stop.minutes)),
            );
        }
        let mut rows = vec![planned];
        if let Some(floor) = ran.at_floor() {
            let home = format!("{}, {}", say::run_time(floor.end.t_min), stops_of(&floor.stops()));
            rows.push(Figure::new(format!("{diver}, the same with the loop at its floor all dive"), home));
        }
        rows
    }

    fn to_come(&self, diver: &str) -> Option<Figure> {
        let to_come = self.instant.to_come?;
        let no_stop = match to_come.no_stop_min {
            None => "no limit to the stay".to_owned(),
            Some(minutes) if minutes <= 0.0 => {
                format!("stops are due, ceiling {} m", say::number(say::up(to_come.ceiling_m, 0.1)))
            }
            Some(minutes) => format!("{} min left without stops", say::minutes_had(minutes)),
        };
        let home = to_come
            .to_surface_min
            .map(|minutes| format!(", {} min to the surface", say::number(say::up(minutes, 1.0))));
        let value = no_stop + &home.unwrap_or_default();
        Some(Figure::new(format!("{diver}, decompression"), value).with_step(
            "ceiling by ZH-L16C with the plan's gradient",
            format!("run time {}", say::run_time(self.ends_min)),
            format!("{:.2} m", to_come.ceiling_m),
        ))
    }

    fn gas_left(&self, diver: &str, cylinder: usize) -> Option<Figure> {
        let full = *self.dive.ran.track.start().litres.get(cylinder)?;
        let left = *self.instant.state.litres.get(cylinder)?;
        let value = format!("{} bar of {:?}", self.left(cylinder), name(&self.dive, cylinder));
        let gauge = self.instant.gauge_bar(cylinder)?;
        Some(Figure::new(format!("{diver}, gas left"), value).with_step(
            "content at the start − used; real gas, at the water's temperature",
            format!("{full:.1} − {:.1} free L", full - left),
            format!("{left:.1} free L = {gauge:.2} bar"),
        ))
    }

    /// How the loop's oxygen came to be what it is.
    fn fraction(&self) -> Option<(String, String)> {
        let segments = &self.dive.ran.track.segments;
        let ending = segments.partition_point(|segment| segment.start.t_min < self.ends_min - tolerance::INSTANT_MIN);
        let segment: &Segment = segments.get(ending.checked_sub(1)?)?;
        if segment.holds_set_point() {
            let set_point = self.instant.state.set_point?;
            return Some((
                "F held at the set-point by the controller".to_owned(),
                say::number(set_point.number()).into(),
            ));
        }
        let Breath::Loop { balance, .. } = segment.regime.breath else { return None };
        let minutes = self.ends_min - segment.start.t_min;
        Some((
            "F = F0 + (A − B·F0)·φ, φ = (1 − exp(−B·τ))/B, τ = ln(1 + k·t/N0)/k".to_owned(),
            format!(
                "F0 {:.5}, A {:.4}, B {:.4}, k {:.4} free L/min, N0 {:.2} free L, t {minutes:.3} min",
                balance.o2, balance.oxygen_lpm, balance.wash_lpm, balance.gain_lpm, balance.litres
            ),
        ))
    }
}
