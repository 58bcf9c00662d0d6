//! Kit: named things and their dated records.

use jiff::civil::Date;

use super::{ApparatusKind, Dated, Maybe, NameUse, Role, WrittenMix};
use crate::physics::litres::{Free, Stpd};
use crate::source::Place;

/// A breathing unit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Apparatus {
    /// What kind of apparatus.
    pub kind: Maybe<ApparatusKind>,
    /// The maker's number.
    pub serial: Maybe<String>,
    /// The model, where training is by model.
    pub model: Maybe<String>,
    /// Loop volume: counterlungs, beds and lungs, litres.
    pub loop_l: Maybe<f64>,
    /// Feed that is always on, free litres a minute.
    pub feed_constant_lpm: Maybe<f64>,
    /// Greatest feed that the oxygen controller opens, free litres a minute.
    pub feed_controlled_lpm: Maybe<f64>,
    /// The node `feed`.
    pub feed: Option<Place>,
    /// Whether a valve keeps the loop's volume on the way down.
    pub make_up: Maybe<bool>,
    /// The greatest flow of that valve, free litres a minute; without one it gives what is needed.
    pub make_up_max_lpm: Maybe<f64>,
    /// Greatest oxygen injection of a closed unit, free litres a minute.
    pub inject_lpm: Maybe<f64>,
    /// A passive unit's spill: one part in this many.
    pub spill_ratio: Maybe<f64>,
    /// Whether depth doesn't change the spill.
    pub spill_compensated: Maybe<bool>,
    /// Least loop oxygen allowed, percent.
    pub floor_percent: Maybe<f64>,
    /// The leanest supply mix its maker allows, percent oxygen.
    pub needs_percent: Maybe<f64>,
    /// Deepest use, metres.
    pub reach_depth_m: Maybe<f64>,
    /// Longest total of stops, minutes.
    pub reach_deco_min: Maybe<f64>,
    /// Coldest water, °C.
    pub reach_coldest_c: Maybe<f64>,
    /// The role of the gas breathed when the lever is thrown: `none` is none.
    pub mouthpiece: Maybe<Option<Role>>,
    /// Its canisters, in the order that gas passes them.
    pub beds: Vec<Bed>,
    /// Oxygen cells.
    pub cells: Vec<Cell>,
    /// Days the unit was calibrated.
    pub calibrated: Vec<Dated<()>>,
    /// Constant feed as measured, free litres a minute.
    pub flow: Vec<Dated<Maybe<f64>>>,
    /// Batteries.
    pub batteries: Vec<Battery>,
    /// When service falls due.
    pub service_due: Maybe<Date>,
    /// Minutes of pre-breathe.
    pub pre_breathe_min: Maybe<f64>,
    /// Gas that checks before the dive take from what feeds the loop, free litres.
    pub checks_l: Maybe<f64>,
}

/// A canister's place in a unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bed {
    /// The canister.
    pub canister: NameUse,
    /// Whether it takes the first one's place when that is spent.
    pub moves_up: bool,
}

/// An oxygen cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Its name in the unit.
    pub name: NameUse,
    /// Day it was fitted.
    pub fitted: Maybe<Date>,
    /// Day it was made.
    pub made: Maybe<Date>,
    /// The maker's life from fitting: months, or days where the unit given was days or weeks.
    pub life: Maybe<Life>,
    /// The node.
    pub place: Place,
    /// Its logged readings.
    pub readings: Vec<Dated<Reading>>,
}

/// A span of calendar time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Life {
    /// Calendar months.
    Months(i32),
    /// Days.
    Days(i32),
}

/// A cell's logged reading.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// In air, millivolts.
    pub air_mv: Maybe<f64>,
    /// In oxygen, millivolts.
    pub oxygen_mv: Maybe<f64>,
    /// The pressure of the oxygen it was read in, bar; that of the surface unless said.
    pub oxygen_bar: Maybe<f64>,
}

impl Reading {
    /// What was read in oxygen at the pressure of the surface, millivolts.
    pub fn oxygen_at_surface_mv(&self) -> &Maybe<f64> {
        static NONE: Maybe<f64> = None;
        if self.oxygen_bar.is_some() { &NONE } else { &self.oxygen_mv }
    }
}

/// A cylinder's pressure as it was read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GaugeReading {
    /// Bar.
    pub gauge_bar: Maybe<f64>,
    /// The temperature at which it was read, °C.
    pub temperature_c: Maybe<f64>,
}

/// A battery and its charges.
#[derive(Debug, Clone, PartialEq)]
pub struct Battery {
    /// Its name in the unit.
    pub name: NameUse,
    /// The least charge it may dive with, percent.
    pub least_percent: Maybe<f64>,
    /// Minutes it runs from a full charge.
    pub lasts_min: Maybe<f64>,
    /// The node.
    pub place: Place,
    /// Charge as read, percent.
    pub charges: Vec<Dated<Maybe<f64>>>,
}

/// An absorbent canister.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Canister {
    /// Absorbent, kilograms.
    pub absorbent_kg: Maybe<f64>,
    /// Rated minutes of one bed alone.
    pub rated_min: Maybe<f64>,
    /// The carbon dioxide output it was rated at.
    pub rated_co2: Maybe<Stpd>,
    /// The water temperature it was rated in, °C.
    pub rated_c: Maybe<f64>,
    /// Days it was packed.
    pub packed: Vec<Dated<()>>,
    /// Minutes used.
    pub used: Vec<Dated<Maybe<f64>>>,
}

/// A cylinder.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cylinder {
    /// Water volume, litres.
    pub size_l: Maybe<f64>,
    /// Working pressure, bar gauge.
    pub working_gauge_bar: Maybe<f64>,
    /// Fills.
    pub fills: Vec<Dated<Fill>>,
    /// Its pressure as it was read.
    pub gauges: Vec<Dated<GaugeReading>>,
    /// When the pressure test falls due.
    pub test_due: Maybe<Date>,
    /// When oxygen service falls due.
    pub clean_due: Maybe<Date>,
}

/// A fill of a cylinder.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fill {
    /// Gauge pressure, bar.
    pub gauge_bar: Maybe<f64>,
    /// The temperature it was read at, °C.
    pub temperature_c: Maybe<f64>,
    /// Who filled it.
    pub by: Maybe<String>,
    /// What was ordered.
    pub nominal: Maybe<WrittenMix>,
    /// What the analyser said; of helium what was ordered, where it was not looked for.
    pub analysed: Maybe<WrittenMix>,
    /// Whether helium was looked for.
    pub helium_analysed: bool,
    /// Day of the analysis, where another than the fill's.
    pub analysed_on: Maybe<Date>,
    /// Who analysed it.
    pub analysed_by: Maybe<String>,
}

/// A diver.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Diver {
    /// Trainings.
    pub trained: Vec<Dated<Training>>,
    /// Days on which the diver dived, by the kind of apparatus.
    pub dived: Vec<Dated<Practice>>,
    /// Open circuit at the surface by work level.
    pub gas: ByWork<Free>,
    /// Metabolic oxygen by work level.
    pub oxygen: ByWork<Stpd>,
    /// Medical fitness ends.
    pub fit_until: Maybe<Date>,
    /// Altitude the body comes from, metres.
    pub lives_altitude_m: Maybe<f64>,
    /// Since when at the site's altitude.
    pub lives_since: Maybe<Date>,
}

/// What a diver is trained for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Training {
    /// The kind of apparatus.
    pub kind: Maybe<ApparatusKind>,
    /// Deepest, metres.
    pub depth_m: Maybe<f64>,
    /// Longest total of stops, minutes.
    pub deco_min: Maybe<f64>,
    /// Whether it is for teaching others.
    pub teaches: Maybe<bool>,
    /// The model of apparatus that it is for; any of the kind unless said.
    pub model: Maybe<String>,
}

/// What a diver dived, as the record of it says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Practice {
    /// The kind of apparatus.
    pub kind: Maybe<ApparatusKind>,
    /// Its model; any of the kind unless said.
    pub model: Maybe<String>,
}

/// A course: what its students may dive under an instructor.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Course {
    /// Deepest, metres.
    pub depth_m: Maybe<f64>,
    /// Longest total of stops, minutes.
    pub deco_min: Maybe<f64>,
}

/// How hard a diver works.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Work {
    /// At ease.
    Rest,
    /// Light.
    Light,
    /// Moderate.
    Moderate,
    /// Heavy.
    Heavy,
    /// The hardest that can be kept up for minutes.
    Peak,
}

impl Work {
    /// All levels, in rising order.
    pub const ALL: [Work; 5] = [Work::Rest, Work::Light, Work::Moderate, Work::Heavy, Work::Peak];

    /// The word a plan uses.
    pub const fn word(self) -> &'static str {
        match self {
            Work::Rest => "rest",
            Work::Light => "light",
            Work::Moderate => "moderate",
            Work::Heavy => "heavy",
            Work::Peak => "peak",
        }
    }
}

/// A figure by work level, as far as it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct ByWork<T> {
    /// The node that gives them.
    pub place: Option<Place>,
    /// By level, in the order of [`Work::ALL`].
    pub levels: [Maybe<T>; 5],
}

impl<T> Default for ByWork<T> {
    fn default() -> ByWork<T> {
        ByWork { place: None, levels: [const { None }; 5] }
    }
}

impl<T> ByWork<T> {
    /// The figure for a level as written.
    pub fn at(&self, work: Work) -> Option<&crate::source::Placed<T>> {
        self.levels[work as usize].as_ref()
    }
}

/// A preparation routine in the club's own words.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Routine {
    /// Its steps, in order.
    pub steps: Vec<RoutineStep>,
}

/// A step of a routine.
#[derive(Debug, Clone, PartialEq)]
pub struct RoutineStep {
    /// Its name.
    pub name: NameUse,
    /// What is done.
    pub text: Maybe<String>,
    /// Least measured value.
    pub from: Maybe<f64>,
    /// Greatest measured value.
    pub to: Maybe<f64>,
}
