//! Names: who defines what, who uses whom, and what a file sees.

pub(super) mod index;
mod links;
mod near;
mod paste;
pub(super) mod resolved;
