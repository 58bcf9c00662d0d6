//! Rules about the text of a file: its syntax, words, names, and waivers.

pub(crate) mod date_invalid;
pub(crate) mod duplicate_name;
pub(crate) mod duplicate_property;
pub(crate) mod misplaced;
pub(crate) mod missing_value;
pub(crate) mod not_checked;
pub(crate) mod not_simulated;
pub(crate) mod nothing_to_dive;
pub(crate) mod out_of_range;
mod resolve_error;
pub(crate) mod syntax;
pub(crate) mod template_gap;
pub(crate) mod template_loosened;
pub(crate) mod unit_mismatch;
pub(crate) mod unknown_word;
pub(crate) mod unresolved_name;
pub(crate) mod unused_definition;
pub(crate) mod use_cycle;
pub(crate) mod use_outside;
pub(crate) mod usual_value;
mod vocabulary_error;
pub(crate) mod waiver_refused;
pub(crate) mod waiver_unused;
pub(crate) mod waiver_without_reason;
pub(crate) mod waivers;
pub(crate) mod wrong_type;
