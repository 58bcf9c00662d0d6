//! What two dives have in common.

use crate::plan::Dive;
use crate::source::{Place, Placed};

/// A unit or a cylinder that two dives both take.
pub(super) struct Common<'a, 'b> {
    /// Of which kind it is: `unit`.
    pub kind: &'static str,
    /// What it is called.
    pub name: &'a str,
    /// Where the one dive names it.
    pub here: &'a Place,
    /// Where the other does.
    pub there: &'b Place,
}

impl Common<'_, '_> {
    /// What it is, as a message says it: `unit "fen-3"`.
    pub(super) fn what(&self) -> String {
        format!("{} {:?}", self.kind, self.name)
    }
}

/// The units and cylinders that a dive and another both take, each once. What one diver takes on both is passed over: then it
/// is the diver who can't be on both.
pub(super) fn things<'a, 'b>(dive: &'a Dive, other: &'b Dive) -> Vec<Common<'a, 'b>> {
    let mut common: Vec<Common<'a, 'b>> = Vec::new();
    let theirs = taken(other);
    for (diver, kind, name, defined) in taken(dive) {
        let same = theirs.iter().find(|(who, kind_there, name_there, there)| {
            // Two files may each have a thing of a name.
            *kind_there == kind && name_there.value == name.value && *there == defined && *who != diver
        });
        let Some((_, _, there, _)) = same else { continue };
        if !common.iter().any(|known| known.kind == kind && known.name == name.value) {
            common.push(Common { kind, name: &name.value, here: &name.place, there: &there.place });
        }
    }
    common
}

/// What a dive's divers take: who, the kind, the name, and where it is defined.
fn taken(dive: &Dive) -> Vec<(&str, &'static str, &Placed<String>, Option<&Place>)> {
    let divers = std::iter::once(dive).chain(&dive.otherwise).flat_map(|dive| &dive.divers);
    divers
        .flat_map(|member| {
            let who = &*member.name.value;
            let unit = member
                .unit_name
                .iter()
                .map(move |name| (who, "unit", name, member.unit.as_ref().map(|unit| &unit.name.place)));
            let cylinders = member.cylinders.iter().map(move |carried| {
                let defined = carried.cylinder.as_ref().map(|cylinder| &cylinder.name.place);
                (who, "cylinder", &carried.name, defined)
            });
            unit.chain(cylinders).collect::<Vec<_>>()
        })
        .collect()
}
