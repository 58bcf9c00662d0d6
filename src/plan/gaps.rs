//! What a plan leaves open that somebody must say before it can be dived.

use super::{Dive, Plan, TeamMember};

/// Something that is left open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gap<'a> {
    /// Where it is dived.
    Site,
    /// That anything is dived.
    Dives,
    /// Who dives.
    Divers(&'a Dive),
    /// Where a dive goes.
    Legs(&'a Dive),
    /// What a diver breathes.
    Cylinders(&'a Dive, &'a TeamMember),
}

impl<'a> Gap<'a> {
    /// The dive that it is a gap of; `None` where it is the plan's.
    pub fn dive(&self) -> Option<&'a Dive> {
        match self {
            Gap::Site | Gap::Dives => None,
            Gap::Divers(dive) | Gap::Legs(dive) | Gap::Cylinders(dive, _) => Some(dive),
        }
    }

    /// What is left open, in words.
    pub fn words(&self) -> Said {
        match self {
            Gap::Site => said!("neither the plan nor its template says the site").with("what", "site"),
            Gap::Dives => said!("neither the plan nor its template has a dive").with("what", "dive"),
            Gap::Divers(dive) => said!("dive {dive:?} has no diver", dive = dive.name.value).with("what", "diver"),
            Gap::Legs(dive) => said!("dive {dive:?} has no legs: nothing says where it goes", dive = dive.name.value)
                .with("what", "legs"),
            Gap::Cylinders(dive, diver) => said!(
                "diver {diver:?} takes no cylinder on dive {dive:?}",
                diver = diver.name.value,
                dive = dive.name.value
            )
            .with("what", "cylinder"),
        }
    }
}

impl Plan {
    /// What it leaves open, in the order of the plan.
    pub fn gaps(&self) -> Vec<Gap<'_>> {
        let mut gaps = Vec::new();
        gaps.extend(self.site.is_none().then_some(Gap::Site));
        gaps.extend(self.dives.is_empty().then_some(Gap::Dives));
        for dive in &self.dives {
            gaps.extend(dive.divers.is_empty().then_some(Gap::Divers(dive)));
            gaps.extend(lacks_legs(dive).then_some(Gap::Legs(dive)));
            let without = dive.divers.iter().filter(|diver| diver.cylinders.is_empty());
            gaps.extend(without.map(|diver| Gap::Cylinders(dive, diver)));
        }
        gaps
    }
}

/// Whether somebody on a dive has nothing to do on it.
fn lacks_legs(dive: &Dive) -> bool {
    dive.legs.is_empty() && (dive.divers.is_empty() || dive.divers.iter().any(|diver| diver.legs.is_empty()))
}
use crate::findings::{Said, said};
