//! The table that a dive is planned by: where the diver is for how long, on what; the same off the loop, without each deco gas,
//! and deeper or longer.

pub(crate) mod csv;
pub(crate) mod json;
mod rows;
pub(crate) mod table;

use crate::forecast::Simulated;
use crate::pages::measured;
use crate::pages::track::name;
use crate::rules::say;
use crate::run::Trouble;
use crate::words::Measures;

pub(crate) use rows::Row;

/// The tables of one diver's dive.
#[derive(Debug)]
pub(crate) struct Schedule<'a> {
    /// The dive and the diver.
    pub simulated: Simulated<'a>,
    /// The dive as planned, then what may become of it.
    pub tables: Vec<Table>,
}

/// One way that a dive may go.
#[derive(Debug)]
pub(crate) struct Table {
    /// Its name for other programs.
    pub name: String,
    /// What is different from the plan, for people; `None` of the plan itself.
    pub title: Option<Title>,
    /// From when on it is told, minutes since leaving the surface; `None` where from the start.
    pub from_min: Option<f64>,
    /// Where the diver is, in order.
    pub rows: Vec<Row>,
    /// When the diver is back at the surface, minutes since leaving it; `None` where that is never.
    pub surfaces_min: Option<f64>,
}

/// What is different from the plan.
#[derive(Debug)]
pub(crate) enum Title {
    /// In these words.
    Words(String),
    /// Deeper by metres, longer by minutes, as far as either is more than nothing.
    Overrun(f64, f64),
}

impl Title {
    /// In words.
    pub(crate) fn told(&self, measures: Measures) -> String {
        match self {
            Title::Words(words) => words.clone(),
            Title::Overrun(deeper_m, longer_min) => {
                let unit = measured::depth_unit(measures);
                let deeper =
                    (*deeper_m > 0.0).then(|| format!("{} {unit} deeper", measured::depth(*deeper_m, measures)));
                let longer = (*longer_min > 0.0).then(|| format!("{} min longer", say::number(*longer_min)));
                [deeper, longer].into_iter().flatten().collect::<Vec<_>>().join(", ")
            }
        }
    }
}

impl<'a> Schedule<'a> {
    /// Of a dive as people are shown it.
    pub(crate) fn of(simulated: Simulated<'a>) -> Schedule<'a> {
        let ran = &simulated.ran;
        let surfaces = |track: &crate::run::Track| track.stuck().is_none().then_some(track.end.t_min);
        let mut tables = vec![Table {
            name: "as-planned".to_owned(),
            title: None,
            from_min: None,
            rows: rows::of(&simulated, &ran.track, None),
            surfaces_min: ran.never_surfaces().is_none().then_some(ran.track.end.t_min),
        }];
        // Where no gradient is given nobody is shown the fewest stops of any as stops of the plan.
        if ran.dive.home.stops.is_some() && !ran.dive.home.fewest_stops {
            let on_loop = ran.dive.circuit.loop_l() > 0.0;
            let out = ran.worst_way_out().and_then(|worst| Some((worst.t_min, ran.way_out_from(worst.t_min)?)));
            tables.extend(out.map(|(t_min, track)| Table {
                name: "off-loop".to_owned(),
                title: Some(Title::Words(format!(
                    "{} at {} min",
                    if on_loop { "off the loop" } else { "bailing out" },
                    say::number(say::down(t_min, 1.0))
                ))),
                from_min: Some(t_min),
                rows: rows::of(&simulated, &track, Some(t_min)),
                surfaces_min: surfaces(&track),
            }));
            for outcome in ran.outcomes() {
                let trials = ran.dive.home.trials;
                let (kind, title, from_min) = match outcome.trouble {
                    Trouble::DecoLost(cylinder) => {
                        let name = name(&simulated, cylinder);
                        (format!("without:{name}"), Title::Words(format!("without {name}")), Some(outcome.t_min))
                    }
                    Trouble::Deeper => ("overrun-depth".to_owned(), Title::Overrun(trials.deeper_m, 0.0), None),
                    Trouble::Longer => ("overrun-time".to_owned(), Title::Overrun(0.0, trials.longer_min), None),
                    Trouble::DeeperAndLonger => {
                        ("overrun-both".to_owned(), Title::Overrun(trials.deeper_m, trials.longer_min), None)
                    }
                    _ => continue,
                };
                let Some(track) = ran.with(outcome) else { continue };
                tables.push(Table {
                    name: kind,
                    title: Some(title),
                    from_min,
                    rows: rows::of(&simulated, &track, from_min),
                    surfaces_min: surfaces(&track),
                });
            }
        }
        Schedule { simulated, tables }
    }

    /// The dive's name.
    pub(crate) fn dive(&self) -> &'a str {
        &self.simulated.dive.dive.name.value
    }

    /// The diver's name.
    pub(crate) fn diver(&self) -> &'a str {
        &self.simulated.dive.member.name.value
    }

    /// The unit's name, if one is dived.
    pub(crate) fn unit(&self) -> Option<&'a str> {
        self.simulated.dive.member.unit_name.as_ref().map(|unit| &*unit.value)
    }

    /// Whether stops are worked out at all.
    pub(crate) fn has_stops(&self) -> bool {
        let home = &self.simulated.ran.dive.home;
        home.stops.is_some() && !home.fewest_stops
    }
}

/// Why a diver is where they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Doing {
    Descend,
    Stay,
    Ascend,
    Stop,
    Switch,
    Flush,
    OffLoop,
    BailOut,
    SafetyStop,
}

impl Doing {
    /// The word for it.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Doing::Descend => "descend",
            Doing::Stay => "stay",
            Doing::Ascend => "ascend",
            Doing::Stop => "stop",
            Doing::Switch => "switch",
            Doing::Flush => "flush",
            Doing::OffLoop => "off-loop",
            Doing::BailOut => "bail-out",
            Doing::SafetyStop => "safety-stop",
        }
    }
}
