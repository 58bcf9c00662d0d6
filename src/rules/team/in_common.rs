//! What the divers of a dive take that those of another may take too.

use crate::plan::Dive;
use crate::source::{Place, Placed};

/// A unit or a cylinder that a diver of a dive takes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Taken<'a> {
    who: &'a str,
    /// Of which kind it is: `unit`.
    pub kind: &'static str,
    /// What it is called, and where the dive says so.
    pub name: &'a Placed<String>,
    /// Where it is defined; two files may each have a thing of a name.
    defined: Option<&'a Place>,
}

impl Taken<'_> {
    /// Whether two takings name one thing.
    pub(super) fn is_of_thing_of(&self, other: &Taken<'_>) -> bool {
        self.kind == other.kind && self.name.value == other.name.value && self.defined == other.defined
    }

    /// Whether another diver takes the thing as well. What one diver takes twice is passed over: then it is the diver who
    /// can't be on both dives.
    pub(super) fn clashes(&self, other: &Taken<'_>) -> bool {
        self.is_of_thing_of(other) && self.who != other.who
    }

    /// What it is, as a message says it: `unit "fen-3"`.
    pub(super) fn what(&self) -> String {
        format!("{} {:?}", self.kind, self.name.value)
    }
}

/// What a dive's divers take, those of its alternatives among them, in order.
pub(super) fn taken(dive: &Dive) -> impl Iterator<Item = Taken<'_>> {
    let divers = std::iter::once(dive).chain(&dive.otherwise).flat_map(|dive| &dive.divers);
    divers.flat_map(|member| {
        let who = &*member.name.value;
        let unit = member.unit_name.iter().map(move |name| {
            let defined = member.unit.as_ref().map(|unit| &unit.name.place);
            Taken { who, kind: "unit", name, defined }
        });
        let cylinders = member.cylinders.iter().map(move |carried| {
            let defined = carried.cylinder.as_ref().map(|cylinder| &cylinder.name.place);
            Taken { who, kind: "cylinder", name: &carried.name, defined }
        });
        unit.chain(cylinders)
    })
}
