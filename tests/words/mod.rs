//! The vocabulary, from outside.

mod check;
mod schema;
