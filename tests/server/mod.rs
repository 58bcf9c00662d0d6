//! The editor's protocol, spoken through a pipe.

mod accepted;
mod answers;
mod client;
mod club;
mod completion;
mod edits;
mod files;
mod formatting;
mod hints;
mod leave;
mod malformed;
mod slow;
