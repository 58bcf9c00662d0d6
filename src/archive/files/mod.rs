//! Files: what is read, what a path means, and what a file says by itself.

mod disk;
pub(super) mod door;
pub(super) mod file;
pub(super) mod fingerprint;
pub(crate) mod git;
mod host;
pub(super) mod path;
pub(super) mod stamp;
pub(super) mod summary;
pub(crate) mod unfinished;
mod walk;

pub use disk::Disk;
pub(crate) use host::user_folder;
pub use host::{Host, HostError, LeftOut, MAX_BYTES, Memory, Walked};
pub(crate) use path::relative;
pub use stamp::Stamp;

pub(super) use host::lexical;
pub(super) use walk::Below;
