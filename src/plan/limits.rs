//! The limits that somebody sets, and what holds where nobody does.

use std::collections::BTreeMap;

use super::{Maybe, Work};
use crate::source::{Place, Placed};
use crate::words::{Amount, LimitName, Usual};

/// Limits: the house's, the template's and the plan's, merged.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits {
    /// The header of the node that says them, where one does.
    pub place: Option<Place>,
    said: BTreeMap<LimitName, Placed<Amount>>,
}

/// A limit and where it is set; nowhere if nobody sets it.
#[derive(Debug, Clone)]
pub struct Limit {
    /// The limit, in the inside unit of its quantity.
    pub value: f64,
    /// Where it is set.
    pub place: Option<Place>,
}

impl Limits {
    /// Limits as one node says them.
    pub fn new(place: Place, said: impl IntoIterator<Item = (LimitName, Placed<Amount>)>) -> Limits {
        Limits { place: Some(place), said: said.into_iter().collect() }
    }

    /// What a limit is set to, number or word.
    pub fn said(&self, name: LimitName) -> Option<&Placed<Amount>> {
        self.said.get(&name)
    }

    /// The number that a limit is set to.
    pub fn set(&self, name: LimitName) -> Maybe<f64> {
        let said = self.said(name)?;
        Some(Placed::new(said.value.number()?, said.place.clone()))
    }

    /// The number that holds of a limit: the one that it is set to, else the usual one, else, of a limit of which nothing
    /// is usual, the one that binds nothing.
    pub fn held(&self, name: LimitName) -> Limit {
        match (self.set(name), name.def().usual) {
            (Some(said), _) => Limit { value: said.value, place: Some(said.place) },
            (None, Usual::As(other, _)) => self.held(other),
            (None, _) => Limit { value: name.def().usual_number(), place: None },
        }
    }

    /// The number that holds of a limit, as [`held`](Limits::held) says it.
    pub fn value(&self, name: LimitName) -> f64 {
        self.held(name).value
    }

    /// What holds of a limit, number or word; `None` where nobody sets it and nothing is usual.
    pub fn amount(&self, name: LimitName) -> Option<Amount> {
        match (self.said(name), name.def().usual) {
            (Some(said), _) => Some(said.value.clone()),
            (None, Usual::As(other, _)) => self.amount(other),
            (None, usual) => usual.amount(),
        }
    }

    /// The work that holds of a limit that is a level of work; moderate of any other.
    pub fn work(&self, name: LimitName) -> Work {
        let amount = self.amount(name);
        let text = amount.as_ref().and_then(Amount::text);
        Work::ALL.into_iter().find(|work| Some(work.word()) == text).unwrap_or(Work::Moderate)
    }

    /// These limits, and another's wherever these say nothing.
    #[must_use]
    pub fn or(mut self, other: &Limits) -> Limits {
        self.place = self.place.or_else(|| other.place.clone());
        for (name, said) in &other.said {
            self.said.entry(*name).or_insert_with(|| said.clone());
        }
        self
    }
}
