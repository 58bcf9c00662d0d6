//! Formatting: what it does to a text, and what it never does.

mod layout;
mod promises;

use leadsman::format::{applied, changes};
use leadsman::syntax::Tree;

fn formatted(text: &str) -> String {
    applied(text, &changes(&Tree::parse(text)))
}
