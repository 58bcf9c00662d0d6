//! The one integration binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]
mod archive;
mod cli;
#[path = "benches/club.rs"]
mod club;
mod format;
mod house;
mod pages;
mod physics;
mod rules;
mod seed;
mod server;
mod syntax;
mod words;
