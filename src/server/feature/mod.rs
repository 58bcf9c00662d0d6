//! What the server answers: each feature one file, worked out from a snapshot.

pub(super) mod actions;
pub(super) mod completion;
pub(super) mod diagnostics;
pub(super) mod formatting;
pub(super) mod hover;
pub(super) mod inlay;
pub(super) mod workspace;
pub(super) mod write_stops;
