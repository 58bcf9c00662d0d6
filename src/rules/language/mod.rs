//! Rules about the text of a file: its syntax, words, names, and waivers.

pub mod duplicate_name;
mod link;
pub mod not_checked;
pub mod template_gap;
pub mod template_loosened;
pub mod unresolved_name;
pub mod unused_definition;
pub mod use_cycle;
pub mod use_outside;
pub mod waiver_refused;
pub mod waiver_unused;
pub mod waiver_without_reason;
