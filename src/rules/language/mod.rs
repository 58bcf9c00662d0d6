//! Rules about the text of a file: its syntax, words, names, and waivers.

pub mod date_invalid;
pub mod duplicate_name;
pub mod duplicate_property;
pub mod misplaced;
pub mod missing_value;
pub mod not_checked;
pub mod out_of_range;
mod resolve_error;
pub mod syntax;
pub mod template_gap;
pub mod template_loosened;
pub mod unit_mismatch;
pub mod unknown_word;
pub mod unresolved_name;
pub mod unused_definition;
pub mod use_cycle;
pub mod use_outside;
mod vocabulary_error;
pub mod waiver_refused;
pub mod waiver_unused;
pub mod waiver_without_reason;
pub(super) mod waivers;
pub mod wrong_type;
