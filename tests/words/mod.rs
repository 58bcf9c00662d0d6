//! The vocabulary, from outside.

mod check;
mod made;
mod schema;
