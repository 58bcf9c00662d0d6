//! Tracks for other programs; `schema/track.schema.json` says what stands where.

use std::collections::BTreeMap;
use std::io::{self, Write};

use serde::{Serialize, Serializer};

use super::instant::Instant;
use super::{Tracks, margin_text, name, text, trouble, unending};
use crate::CAUTION;
use crate::forecast::Simulated;
use crate::pages::json::{OfDives, plain, pretty};
use crate::run::{self, Event, Halt, Outcome, Scenario};
use crate::words::Measures;

/// The version of the shape that is written.
pub(crate) const VERSION: u32 = 1;

/// Writes tracks as JSON, sample by sample.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, tracks: &Tracks<'_>) -> io::Result<()> {
    let dives = tracks.dives.iter().map(|dive| dive_of(tracks, dive)).collect();
    pretty(out, &OfDives { version: VERSION, caution: CAUTION, dives })
}

#[derive(Serialize)]
struct Dive<'a> {
    dive: &'a str,
    diver: &'a str,
    samples: Samples<'a>,
    events: Vec<Happened>,
    stops: Vec<Stop>,
    extremes: Option<Extremes>,
    never_surfaces: Option<String>,
    contingencies: Vec<Contingency>,
}

/// Samples that are worked out as they are written: a long dive asked every second need not be held.
struct Samples<'a> {
    tracks: &'a Tracks<'a>,
    dive: &'a Simulated<'a>,
}

impl Serialize for Samples<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let instants = self.tracks.instants(self.dive);
        serializer
            .collect_seq(instants.filter_map(|t_min| Some(sample(self.dive, t_min, Instant::at(self.dive, t_min)?))))
    }
}

#[derive(Serialize)]
struct Sample<'a> {
    t_s: f64,
    depth_m: f64,
    pressure_bar: f64,
    source: &'a str,
    loop_o2_percent: Option<f64>,
    po2_bar: f64,
    end_m: f64,
    ead_m: Option<f64>,
    feed_lpm: Option<f64>,
    ceiling_m: Option<f64>,
    no_stop_min: Option<f64>,
    to_surface_min: Option<f64>,
    cns_percent: f64,
    uptd: f64,
    cylinders: BTreeMap<&'a str, Content>,
    absorbent_min: Option<f64>,
}

#[derive(Serialize)]
struct Content {
    bar: Option<f64>,
    litres: f64,
}

#[derive(Serialize)]
struct Happened {
    t_s: f64,
    kind: &'static str,
    text: String,
}

#[derive(Serialize)]
struct Contingency {
    scenario: &'static str,
    covered: bool,
    t_s: f64,
    depth_m: f64,
    margin: Margin,
    text: String,
}

/// What a contingency leaves, or lacks; what does not apply is null.
#[derive(Serialize)]
struct Margin {
    gas_litres: Option<f64>,
    least_po2_bar: Option<f64>,
    greatest_po2_bar: Option<f64>,
}

#[derive(Serialize)]
struct Stop {
    t_s: f64,
    depth_m: f64,
    minutes: f64,
}

#[derive(Serialize)]
struct Extremes {
    least_o2_percent: Extreme,
    least_po2_bar: Extreme,
    greatest_po2_bar: Extreme,
    greatest_depth_m: Extreme,
}

#[derive(Serialize)]
struct Extreme {
    value: f64,
    t_s: f64,
}

fn dive_of<'a>(tracks: &'a Tracks<'a>, dive: &'a Simulated<'a>) -> Dive<'a> {
    Dive {
        dive: &dive.dive.dive.name.value,
        diver: &dive.dive.member.name.value,
        samples: Samples { tracks, dive },
        events: dive.events().iter().map(|event| happened(dive, event)).collect(),
        stops: dive.ran.track.stops().iter().map(stop).collect(),
        extremes: extremes(dive),
        never_surfaces: unending(dive),
        contingencies: dive.ran.outcomes().iter().map(|outcome| contingency(dive, outcome)).collect(),
    }
}

fn sample<'a>(dive: &'a Simulated<'a>, t_min: f64, instant: Instant) -> Sample<'a> {
    let state = &instant.state;
    let content = |cylinder: usize, litres: &f64| {
        (name(dive, cylinder), Content { bar: instant.gauge_bar(cylinder).map(plain), litres: plain(*litres) })
    };
    Sample {
        t_s: plain(t_min * 60.0),
        depth_m: plain(state.depth_m()),
        pressure_bar: plain(state.bar),
        source: instant.open_circuit.map_or("loop", |cylinder| name(dive, cylinder)),
        loop_o2_percent: instant.loop_o2.map(|o2| plain(o2 * 100.0)),
        po2_bar: plain(instant.po2_bar),
        end_m: plain(instant.narcotic_m),
        ead_m: instant.air_m.map(plain),
        feed_lpm: instant.feed_lpm.map(plain),
        ceiling_m: instant.to_come.map(|to_come| plain(to_come.ceiling_m)),
        no_stop_min: instant.to_come.and_then(|to_come| to_come.no_stop_min).map(plain),
        to_surface_min: instant.to_come.and_then(|to_come| to_come.to_surface_min).map(plain),
        cns_percent: plain(instant.exposure.clock * 100.0),
        uptd: plain(instant.exposure.units),
        cylinders: state.litres.iter().enumerate().map(|(cylinder, litres)| content(cylinder, litres)).collect(),
        absorbent_min: instant.absorbent_min.map(plain),
    }
}

fn happened(dive: &Simulated<'_>, event: &Event) -> Happened {
    Happened { t_s: plain(event.t_min * 60.0), kind: event.kind.slug(), text: text(dive, event.kind) }
}

fn contingency(dive: &Simulated<'_>, outcome: &Outcome) -> Contingency {
    let margin = match outcome.margin {
        run::Margin::Gas(litres) => Margin { gas_litres: Some(litres), least_po2_bar: None, greatest_po2_bar: None },
        run::Margin::Oxygen { least_bar, .. } => {
            Margin { gas_litres: None, least_po2_bar: Some(least_bar), greatest_po2_bar: None }
        }
        run::Margin::TooMuchOxygen(bar) => {
            Margin { gas_litres: None, least_po2_bar: None, greatest_po2_bar: Some(bar) }
        }
        run::Margin::NeverSurfaces => Margin { gas_litres: None, least_po2_bar: None, greatest_po2_bar: None },
        run::Margin::FeedEnds(_) => Margin { gas_litres: Some(0.0), least_po2_bar: None, greatest_po2_bar: None },
    };
    // Without any way out nothing can be counted, and JSON knows no infinity.
    let finite = |figure: Option<f64>| figure.filter(|figure| figure.is_finite()).map(plain);
    Contingency {
        scenario: outcome.trouble.name(),
        covered: outcome.is_covered(),
        t_s: plain(outcome.t_min * 60.0),
        depth_m: plain(outcome.depth_m),
        margin: Margin {
            gas_litres: finite(margin.gas_litres),
            least_po2_bar: finite(margin.least_po2_bar),
            greatest_po2_bar: finite(margin.greatest_po2_bar),
        },
        text: format!("{}: {}", trouble(dive, outcome), margin_text(&outcome.margin, Measures::Metric)),
    }
}

fn stop(halt: &Halt) -> Stop {
    Stop { t_s: plain(halt.t_min * 60.0), depth_m: plain(halt.depth_m), minutes: plain(halt.minutes) }
}

/// The greatest and least from leaving the surface on.
fn extremes(dive: &Simulated<'_>) -> Option<Extremes> {
    let found = dive.ran.track.extremes(0.0, &dive.ran.dive.limits)?;
    let at = |(value, t_min): (f64, f64), scale: f64| Extreme { value: plain(value * scale), t_s: plain(t_min * 60.0) };
    let depth_m = dive.ran.dive.water.depth_m(found.greatest_bar.0);
    Some(Extremes {
        least_o2_percent: at(found.least_o2, 100.0),
        least_po2_bar: at(found.least_po2_bar, 1.0),
        greatest_po2_bar: at(found.greatest_po2_bar, 1.0),
        greatest_depth_m: at((depth_m, found.greatest_bar.1), 1.0),
    })
}
