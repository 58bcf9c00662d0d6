//! What plans of an archive have to do with each other beyond names: the days around, who dived when, what was accepted.

pub(super) mod accepted;
pub(super) mod neighbours;
pub(super) mod practice;
pub(super) mod waivers;
