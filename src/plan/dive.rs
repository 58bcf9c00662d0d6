//! The plan: a day's dives for a team.

use jiff::civil::{Date, Time};

use std::sync::Arc;

use super::{
    Apparatus, Course, Cylinder, Defined, Diver, Leg, Limits, Maybe, NameUse, Role, Routine, SwitchTo, Use, Work,
};
use crate::physics::SetPoint;
use crate::source::{FileId, Place, Placed};

/// What a plan is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum Status {
    /// A pattern that other plans start from.
    Template,
    /// Being written.
    #[default]
    Draft,
    /// To be dived: every check applies.
    Ready,
    /// Was dived: the record stands.
    Dived,
}

/// A plan, template merged in.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The file that says `plan`.
    pub file: FileId,
    /// Its name.
    pub name: NameUse,
    /// The node's header.
    pub header: Place,
    /// The whole node.
    pub whole: Place,
    /// The day.
    pub on: Maybe<Date>,
    /// What it is for.
    pub status: Status,
    /// Where `status=` stands.
    pub status_at: Option<Place>,
    /// The template it starts from.
    pub from: Option<Use>,
    /// The site.
    pub site: Option<Site>,
    /// The limits: the plan's own, else the template's, else the house's.
    pub limits: Limits,
    /// The limits of the template, with those of the templates it starts from, as they would hold without the plan's own
    /// word; `None` for a plan that starts from none.
    pub template_limits: Option<Limits>,
    /// What is still to be answered in it, or in the template it starts from.
    pub open: Vec<Open>,
    /// The course it is a day of.
    pub course: Option<NameUse>,
    /// That course, as far as it is defined.
    pub taught: Option<Arc<Defined<Course>>>,
    /// Dives and what lies between, in order.
    pub dives: Vec<Dive>,
    /// Minutes at the surface after each dive; shorter than `dives` by one or more.
    pub intervals_min: Vec<Maybe<f64>>,
    /// When the divers fly after the dives.
    pub flight: Option<Flight>,
}

/// A value that is still to be answered: `?`.
#[derive(Debug, Clone, PartialEq)]
pub struct Open {
    /// Where it stands.
    pub place: Place,
    /// The word that it is a value of.
    pub word: String,
    /// The property, where it is none of the word's arguments.
    pub part: Option<String>,
}

/// When the divers fly, or go up to a height.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// The node's header.
    pub place: Place,
    /// The day.
    pub on: Maybe<Date>,
    /// The time of day.
    pub at: Maybe<Time>,
}

/// Where the dives are.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Its name, where it has one.
    pub name: Option<NameUse>,
    /// The node's header.
    pub header: Place,
    /// Fresh or salt.
    pub water: Maybe<String>,
    /// Water density, kg/m³, where given.
    pub density: Maybe<f64>,
    /// Altitude, metres.
    pub altitude_m: Maybe<f64>,
    /// Surface pressure, bar, where given.
    pub surface_bar: Maybe<f64>,
    /// Water temperature, °C.
    pub temperature_c: Maybe<f64>,
    /// How depths are measured: `instrument` or `line`.
    pub depth_by: Maybe<String>,
    /// Whether depths are measured by line.
    pub depth_by_line: bool,
    /// Greatest depth, metres.
    pub depth_m: Maybe<f64>,
    /// Emergency arrangements.
    pub emergency: Option<Emergency>,
}

/// Emergency arrangements.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Emergency {
    /// The node's header.
    pub place: Option<Place>,
    /// The chamber.
    pub chamber: Maybe<String>,
    /// Its telephone number.
    pub phone: Maybe<String>,
    /// Emergency oxygen.
    pub oxygen: Vec<EmergencyOxygen>,
    /// Minutes to the chamber's door.
    pub evacuation_min: Maybe<f64>,
}

/// Cylinders of emergency oxygen.
#[derive(Debug, Clone, PartialEq)]
pub struct EmergencyOxygen {
    /// The node's header.
    pub place: Place,
    /// Water volume of one, litres.
    pub size_l: Maybe<f64>,
    /// Gauge pressure, bar.
    pub gauge_bar: Maybe<f64>,
    /// How many; one where it isn't said.
    pub count: Maybe<f64>,
}

/// One dive of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Dive {
    /// Its name.
    pub name: NameUse,
    /// The node's header.
    pub header: Place,
    /// The whole node.
    pub whole: Place,
    /// Time of day it begins.
    pub at: Maybe<Time>,
    /// Everyone's legs, `repeat` unrolled.
    pub legs: Vec<Leg>,
    /// Its divers.
    pub divers: Vec<TeamMember>,
    /// Whether each diver's bailout is planned to bring a buddy home as well.
    pub team_bailout: Maybe<bool>,
    /// Alternative dives, with the divers of this one.
    pub otherwise: Vec<Dive>,
    /// What was dived.
    pub dived: Vec<Record>,
    /// Preparations signed.
    pub prepared: Vec<Preparation>,
}

/// A diver of a dive.
#[derive(Debug, Clone, PartialEq)]
pub struct TeamMember {
    /// The name.
    pub name: NameUse,
    /// The node's header.
    pub header: Place,
    /// The whole node.
    pub whole: Place,
    /// The definition, if the name resolves.
    pub diver: Option<std::sync::Arc<Defined<Diver>>>,
    /// The unit's name.
    pub unit_name: Option<NameUse>,
    /// The unit, if the name resolves; none means open circuit with what is carried.
    pub unit: Option<std::sync::Arc<Defined<Apparatus>>>,
    /// Cylinders by role.
    pub cylinders: Vec<Carried>,
    /// The set-point.
    pub set_point: Maybe<SetPoint>,
    /// The role of the cylinder that fills suit and wing; `none` is none.
    pub inflates: Maybe<Option<Role>>,
    /// Work of this diver's own.
    pub work: Maybe<Work>,
    /// The diver's part in the team (`lead`, `student`, …).
    pub role: Maybe<String>,
    /// Legs of this diver's own; they replace everyone's.
    pub legs: Vec<Leg>,
}

/// A cylinder that a diver takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// What it is taken for.
    pub role: Placed<Role>,
    /// The cylinder's name.
    pub name: NameUse,
    /// The cylinder, if the name resolves.
    pub cylinder: Option<std::sync::Arc<Defined<Cylinder>>>,
    /// The other diver of the dive who breathes from it too.
    pub with: Option<NameUse>,
}

impl Carried {
    /// Whether a switch means this cylinder.
    pub fn is_meant_by(&self, to: &SwitchTo) -> bool {
        match to {
            SwitchTo::Role(role) => self.role.value == *role,
            SwitchTo::Cylinder(name) => self.name.value == *name,
        }
    }

    /// Whether both are the one that the plan says at a place.
    pub fn is_at(&self, other: &Carried) -> bool {
        self.name.place == other.name.place && self.role.place == other.role.place
    }
}

impl TeamMember {
    /// The cylinders that the plan says this diver shares with another: named as shared by either, or taken as a buddy's
    /// spare.
    pub fn shares<'a>(&'a self, other: &'a TeamMember) -> impl Iterator<Item = &'a str> {
        let said = |carried: &Carried, buddy: &TeamMember| {
            carried.role.value == Role::Spare
                || carried.with.as_ref().is_some_and(|with| with.value == buddy.name.value)
        };
        let by_both = move |mine: &&Carried| {
            self.name.value != other.name.value
                && other
                    .cylinders
                    .iter()
                    .any(|theirs| theirs.name.value == mine.name.value && (said(mine, other) || said(theirs, self)))
        };
        self.cylinders.iter().filter(by_both).map(|mine| &*mine.name.value)
    }
}

/// `dived "Rowan" …`: what happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Who.
    pub diver: NameUse,
    /// The node's header.
    pub place: Place,
    /// Minutes under water.
    pub minutes: Maybe<f64>,
    /// Greatest depth, metres.
    pub depth_m: Maybe<f64>,
    /// Gauge pressure before and after, by cylinder.
    pub cylinders: Vec<(NameUse, Maybe<f64>, Maybe<f64>)>,
    /// Minutes on the first and the second bed.
    pub beds_min: (Maybe<f64>, Maybe<f64>),
}

/// `prepared "Rowan" routine="at the bench" { … }`: a routine signed step by step.
#[derive(Debug, Clone, PartialEq)]
pub struct Preparation {
    /// Who.
    pub diver: NameUse,
    /// The routine's name.
    pub routine: Option<NameUse>,
    /// The routine, if the name resolves.
    pub defined: Option<std::sync::Arc<Defined<Routine>>>,
    /// The node's header.
    pub place: Place,
    /// The steps done.
    pub done: Vec<Done>,
}

/// A step done.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// The step's name.
    pub step: NameUse,
    /// The measured value, where the step asks for one.
    pub value: Maybe<f64>,
    /// When.
    pub at: Maybe<Time>,
    /// Who signed.
    pub by: Maybe<String>,
}
