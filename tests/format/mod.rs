//! Formatting: what it does to a text, and what it never does.

mod layout;
mod promises;

use leadsman::format::changes;
use leadsman::source::applied;
use leadsman::syntax::Tree;

fn formatted(text: &str) -> String {
    applied(text, &changes(&Tree::parse(text)))
}
