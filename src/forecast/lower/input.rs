//! What a run is made from: values only.

use std::sync::Arc;

use serde::Serialize;

use crate::physics::{Mix, SetPoint, Water};
use crate::run::{Circuit, Cylinder, Exposure, Filled, Home, Leg, Limits, Profile, Work};

/// A cylinder as it is given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CylinderInput {
    /// As it is known before the dive, with the mix of least oxygen that it may hold.
    pub filled: Filled,
    /// The mix of most oxygen that it may hold.
    pub rich: Mix,
    /// What earlier dives have taken out of it, free litres.
    pub used_l: f64,
    /// Its number among the cylinders that several divers of the dive draw from; `None` where it is one diver's own.
    pub common: Option<usize>,
    /// The number of the cylinders that are breathed from evenly, this one among them; `None` where it is breathed alone.
    pub twins: Option<usize>,
}

/// One diver's dive, before anything is worked out from it: no places, no names.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DiveInput {
    /// What stands over and around the diver.
    pub water: Water,
    /// What is breathed from at the start.
    pub circuit: Circuit,
    /// How far the constant feed may be off either way, as a share of it; 0 where it was measured.
    pub feed_tolerance: f64,
    /// The set-point.
    pub set_point: Option<SetPoint>,
    /// Minutes of pre-breathe on a loop.
    pub pre_breathe_min: f64,
    /// Gas that checks before the dive take from what feeds the loop, free litres.
    pub checks_l: f64,
    /// The cylinder that fills suit and wing.
    pub inflates: Option<usize>,
    /// The cylinders.
    pub cylinders: Vec<CylinderInput>,
    /// Work at rest.
    pub rest: Work,
    /// The legs, the way home among them.
    pub legs: Vec<Leg>,
    /// What body and absorbent carry from before.
    pub carried: Exposure,
    /// What ways home are worked out from.
    pub home: Home,
    /// What is watched for.
    pub limits: Limits,
    /// What is given of those who draw from one of these cylinders too; they have no others.
    pub others: Vec<DiveInput>,
}

impl DiveInput {
    /// The dive on the mixes of least oxygen; `None` where a cylinder holds what none can.
    pub fn dive(&self) -> Option<Profile> {
        let cylinders: Option<Vec<Cylinder>> = self.cylinders.iter().map(CylinderInput::cylinder).collect();
        let others: Option<Vec<Profile>> = self.others.iter().map(DiveInput::dive).collect();
        Some(Profile {
            water: self.water,
            circuit: self.circuit,
            cylinders: Arc::from(cylinders?),
            set_point: self.set_point,
            pre_breathe_min: self.pre_breathe_min,
            checks_l: self.checks_l,
            rest: self.rest,
            legs: self.legs.clone(),
            inflates: self.inflates,
            carried: self.carried,
            home: self.home.clone(),
            limits: self.limits,
            others: Arc::from(others?),
        })
    }
}

impl CylinderInput {
    fn cylinder(&self) -> Option<Cylinder> {
        let mut cylinder = Cylinder::new(self.filled)?;
        cylinder.common = self.common;
        cylinder.twins = self.twins;
        cylinder.full_l = (cylinder.full_l - self.used_l).max(0.0);
        Some(cylinder)
    }
}
