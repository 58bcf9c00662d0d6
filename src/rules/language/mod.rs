//! Rules about the text of a file: its syntax, words, names, and waivers.

pub mod not_checked;
pub mod waiver_refused;
pub mod waiver_unused;
pub mod waiver_without_reason;
