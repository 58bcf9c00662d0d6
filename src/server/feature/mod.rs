//! What the server answers: each feature one file, worked out from a snapshot.

pub mod actions;
pub mod completion;
pub mod diagnostics;
pub mod hover;
pub mod inlay;
pub mod workspace;
pub mod write_stops;
