//! A linter, language server and limits engine for dive plans kept as plain text.
//!
//! The library is laid out as rooms; each knows only the ones above it in this list:
//!
//! | room | holds |
//! | --- | --- |
//! | [`source`] | where things stand in a text: spans, places, positions, edits |
//! | [`physics`] | pure functions from numbers to numbers |
//! | [`findings`] | what a check says: findings, fixes, workings, waivers; data only |
//! | [`syntax`] | text to tree, whatever the text |
//! | [`words`] | the vocabulary of the plan language and its quantities |
//! | [`plan`] | the typed plan and kit, every value with its place |
//! | [`run`] | the one simulator: a dive and a diver to a track |
//! | [`forecast`] | a plan and what lies before it to runs |
//! | [`rules`] | plan to findings; one file a rule |
//! | [`archive`] | the value that answers: files, names, what a check of them finds |
//! | [`pages`] | every printed output |
//! | [`server`] | the editor's protocol |
//! | [`cli`] | the commands |

pub mod archive;
pub mod cli;
pub mod findings;
pub mod forecast;
pub mod pages;
pub mod physics;
pub mod plan;
pub mod rules;
pub mod run;
pub mod server;
pub mod source;
pub mod syntax;
pub mod words;

/// The caution that every printed or drawn output carries.
pub const CAUTION: &str = "Planning aid that may be wrong: it measures nothing in the water, and no findings does not mean safe. \
The unit's manual, your training, local rules, your instruments and the people responsible for the dive decide.";
