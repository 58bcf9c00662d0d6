//! A linter, language server and limits engine for dive plans kept as plain text.
//!
//! An [`archive::Archive`] is a folder of plans and kit; a check of it gives a [`archive::Report`] of
//! [`findings::Finding`]s, each by one of [`rules::TABLE`]:
//!
//! ```
//! use std::sync::Arc;
//!
//! use leadsman::archive::{Archive, Memory};
//! use leadsman::source::FileId;
//!
//! let plan = "plan \"Shelf\" on=\"2027-05-15\" status=draft\n\ndive \"morning\" water=9 {\n    descned 18\n}\n";
//! let host = Memory::new().file("/club/shelf.plan.kdl", plan);
//! let archive = Archive::open(Arc::new(host), "/club".as_ref());
//!
//! let findings = archive.findings(&FileId::new("shelf.plan.kdl"));
//! let unknown = findings.iter().find(|finding| finding.rule == "unknown-word").unwrap();
//! assert_eq!(&plan[unknown.place.span.range()], "descned");
//! assert_eq!(unknown.fixes[0].edits[0].text, "descend");
//! ```
//!
//! [`run`] is the simulator by itself, [`physics`] the formulas under it; both take plain numbers and know no files. The
//! other rooms are hidden here, since only the command, the editor's server and the tests need them.
//!
//! The library is laid out as rooms; each knows only the ones above it in this list:
//!
//! | room | holds |
//! | --- | --- |
//! | [`source`] | where things stand in a text: spans, places, positions, edits |
//! | [`physics`] | pure functions from numbers to numbers |
//! | [`findings`] | what a check says: findings, fixes, workings, waivers; data only |
//! | `syntax` | text to tree, whatever the text |
//! | `format` | how a text is laid out |
//! | `words` | the vocabulary of the plan language and its quantities |
//! | `plan` | the typed plan and kit, every value with its place |
//! | [`run`] | the one simulator: a dive and a diver to a track |
//! | `forecast` | a plan and what lies before it to runs |
//! | [`rules`] | plan to findings; one file a rule |
//! | [`archive`] | the value that answers: files, names, what a check of them finds |
//! | `pages` | every printed output |
//! | `server` | the editor's protocol |
//! | `cli` | the commands |

#![warn(unreachable_pub)]

pub mod archive;
mod cli;
pub mod findings;
#[doc(hidden)]
pub mod forecast;
#[doc(hidden)]
pub mod format;
#[doc(hidden)]
pub mod pages;
pub mod physics;
#[doc(hidden)]
pub mod plan;
pub mod rules;
pub mod run;
#[doc(hidden)]
pub mod server;
pub mod source;
#[doc(hidden)]
pub mod syntax;
#[doc(hidden)]
pub mod words;

// The properties beside the sources go by the same seed as those under tests/.
#[cfg(test)]
#[path = "../tests/seed.rs"]
#[allow(clippy::panic, dead_code)]
mod seed;

pub use cli::run as command;

/// The caution that every printed or drawn output carries.
pub const CAUTION: &str = "Planning aid that may be wrong: it measures nothing in the water, and no findings does not mean safe. \
The unit's manual, your training, local rules, your instruments and the people responsible for the dive decide.";
