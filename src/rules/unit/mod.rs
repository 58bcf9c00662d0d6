//! Rules about the breathing unit.

pub mod battery_low;
pub mod cell_expired;

use std::sync::Arc;

use super::Look;
use super::dives::{self, OneDive};
use crate::plan::{Defined, Unit};

/// Each unit that a plan takes, once, with the first dive that takes it.
pub fn taken<'a>(look: &Look<'a>) -> Vec<(OneDive<'a>, &'a Arc<Defined<Unit>>)> {
    let mut taken: Vec<(OneDive<'a>, &Arc<Defined<Unit>>)> = Vec::new();
    for dive in dives::all(look) {
        if let Some(unit) = &dive.member.unit
            && !taken.iter().any(|(_, other)| other.name == unit.name)
        {
            taken.push((dive, unit));
        }
    }
    taken
}
