//! Facts that are lacking.

use crate::source::Place;

/// A fact that is lacking.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// Where it would stand, or what lacks it.
    pub place: Place,
    /// The fact as a writer would add it: `` `needs o2=` of unit "fen-3" ``.
    pub fact: String,
}

/// Why something of a dive is not known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unknown {
    /// For want of a fact.
    Lacks(Missing),
    /// Because of what another rule speaks of: a name that nothing defines, a value that can't be meant.
    SaidElsewhere,
}

impl Missing {
    /// A fact, and where it is lacking.
    pub fn new(place: &Place, fact: impl Into<String>) -> Missing {
        Missing { place: place.clone(), fact: fact.into() }
    }
}

impl Unknown {
    /// A fact, and where it is lacking.
    pub fn lacks(place: &Place, fact: impl Into<String>) -> Unknown {
        Unknown::Lacks(Missing::new(place, fact))
    }

    /// The fact that is lacking, where that is why.
    pub fn missing(self) -> Option<Missing> {
        match self {
            Unknown::Lacks(missing) => Some(missing),
            Unknown::SaidElsewhere => None,
        }
    }
}
