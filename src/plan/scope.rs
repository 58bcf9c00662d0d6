//! What names mean for one file: the definitions it can see, and the house's word.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{Apparatus, Canister, Course, Cylinder, Defined, Diver, Limits, Routine, Site, Use, Waiver};
use crate::findings::Level;
use crate::source::{Place, Placed};

/// Definitions by name, records from other files already put under their things.
#[derive(Debug, Clone, Default)]
pub struct Scope {
    /// Breathing units.
    pub units: BTreeMap<String, Arc<Defined<Apparatus>>>,
    /// Absorbent canisters.
    pub canisters: BTreeMap<String, Arc<Defined<Canister>>>,
    /// Cylinders.
    pub cylinders: BTreeMap<String, Arc<Defined<Cylinder>>>,
    /// Divers.
    pub divers: BTreeMap<String, Arc<Defined<Diver>>>,
    /// Sites.
    pub sites: BTreeMap<String, Arc<Defined<Site>>>,
    /// Preparation routines.
    pub routines: BTreeMap<String, Arc<Defined<Routine>>>,
    /// Courses.
    pub courses: BTreeMap<String, Arc<Defined<Course>>>,
    /// Waivers that stand in the other files in sight: they cover what is caused by the things they stand under. The
    /// file's own may be among them.
    pub waivers: Vec<Waiver>,
    /// The house's limits and levels.
    pub house: Arc<House>,
}

/// What `leadsman.kdl` says for every file of the archive.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct House {
    /// The house's limits; a plan's own win, but may not be looser without a finding.
    pub limits: Limits,
    /// Levels of rules that the house sets.
    pub levels: Vec<HouseLevel>,
    /// Files that every file may use without asking.
    pub uses: Vec<Use>,
    /// Waivers for every file.
    pub waivers: Vec<Waiver>,
    /// Files and folders that are left out of checks, as written.
    pub excludes: Vec<Placed<String>>,
}

/// A level that the house sets for a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct HouseLevel {
    /// The rule's slug as written.
    pub rule: Placed<String>,
    /// The level.
    pub level: Placed<Level>,
    /// The written reason, which lowering a safety rule needs.
    pub because: Option<Placed<String>>,
    /// The node.
    pub place: Place,
}
