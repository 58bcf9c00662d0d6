//! The reader against the official KDL cases, the `kdl` crate's parser, and whatever bytes there are.

pub mod generated;
pub mod official;
mod oracle;
mod recovery;
pub mod whatever;
