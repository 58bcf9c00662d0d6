//! The reader against the official KDL cases, the `kdl` crate's parser, and whatever bytes there are.

mod generated;
mod official;
mod oracle;
mod recovery;
mod whatever;
