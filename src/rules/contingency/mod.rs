//! Rules about what a dive must hold beside what is planned.

pub(crate) mod contingency_uncovered;

pub(crate) mod covered;
