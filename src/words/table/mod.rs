//! The vocabulary's rows, by area of the language.
//!
//! A row is data: add a word here and the walker, the editor and the published description know it.

mod dives;
mod file;
mod legs;
mod limits;
mod plan;
mod things;
mod unit;

use std::collections::HashMap;
use std::sync::LazyLock;

use super::{Key, NodeDef, Quantity, ValueDef};

pub use limits::{LIMITS, LimitName};
pub(crate) use limits::{LimitDef, Usual};

/// The top of a file of any kind, as a place below which words stand.
pub const TOP: &str = "";
/// The top of a plan file.
pub const PLAN_TOP: &str = "*.plan.kdl";
/// The top of the archive's root file.
pub const HOUSE_TOP: &str = "leadsman.kdl";
/// Below any node and at the top of any file.
pub const ANYWHERE: &str = "*";

/// Every row, in the order of the language's description.
pub(super) fn rows() -> impl Iterator<Item = &'static NodeDef> {
    [file::ROWS, plan::ROWS, limits::ROWS, dives::ROWS, legs::ROWS, unit::ROWS, things::ROWS].into_iter().flatten()
}

/// Rows by the place they may stand at and their name.
static INDEX: LazyLock<HashMap<(&str, &str), &NodeDef>> =
    LazyLock::new(|| rows().flat_map(|word| word.below.iter().map(move |place| ((*place, word.name), word))).collect());

/// The row of a name at a place, the place given by its own row's `id` or as one of the tops.
pub(super) fn row(place: &str, name: &str) -> Option<&'static NodeDef> {
    INDEX.get(&(place, name)).or_else(|| INDEX.get(&(ANYWHERE, name))).copied()
}

/// The parts of a row that most words share.
const NODE: NodeDef = NodeDef {
    id: "",
    name: "",
    meaning: "",
    below: &[],
    args: &[],
    props: &[],
    either: None,
    key: Key::Singleton,
    also_key: None,
    order: None,
    wanted: false,
    fact: false,
};

/// A dated record: something measured, done or signed on a day.
const RECORD: NodeDef = NodeDef { key: Key::Position, fact: true, ..NODE };

const fn value(name: &'static str, quantity: Quantity, meaning: &'static str) -> ValueDef {
    ValueDef { name, meaning, quantity, range: None, required: false, default: None, many: false, asked: false }
}

impl ValueDef {
    /// The same, but it must be there.
    const fn needed(self) -> ValueDef {
        ValueDef { required: true, ..self }
    }

    /// The same, within a range in the inside unit.
    const fn within(self, least: f64, greatest: f64) -> ValueDef {
        ValueDef { range: Some((least, greatest)), ..self }
    }

    /// The same, but what was asked for among facts that were found.
    const fn asked(self) -> ValueDef {
        ValueDef { asked: true, ..self }
    }

    /// The same, with what holds where it is left out.
    const fn or(self, default: &'static str) -> ValueDef {
        ValueDef { default: Some(default), ..self }
    }
}

/// How hard the divers work.
/// That a value is a guess: what is usual, and not measured.
const USUAL: ValueDef = value(
    "usual",
    Quantity::YesNo,
    "Whether the values are what is usual rather than measured or the maker's: a plan that is ready is told of each.",
);
/// The ways under something overhead.
const WAYS: &[&str] = &["in", "out"];
const WORK: &[&str] = &["rest", "light", "moderate", "heavy", "peak"];
/// What a cylinder is taken for.
const ROLES: &[&str] = &["back", "supply", "deco", "bailout", "travel", "diluent", "oxygen", "spare", "stage"];
/// The same, or none of them.
const ROLES_OR_NONE: &[&str] = &["back", "supply", "deco", "bailout", "travel", "diluent", "oxygen", "none"];
/// Kinds of breathing apparatus.
const KINDS: &[&str] = &["open", "semi-closed", "passive", "closed"];

/// The deepest that any word takes, metres: beyond the deepest dives ever made in the sea, so a slip of the hand.
const DEEPEST_M: f64 = 350.0;
/// The highest gauge pressure that any word takes, bar: half again the commonest highest working pressure, 300 bar.
const HIGHEST_BAR: f64 = 450.0;
/// A day, minutes.
const DAY_MIN: f64 = 1440.0;

const ON: ValueDef = value("on", Quantity::Date, "The day this was measured or done.").needed();
const PERCENT_O2: ValueDef = value("o2", Quantity::Percent, "Oxygen, percent.").within(1.0, 100.0);

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::collections::HashSet;

    use super::*;
    use crate::syntax::Tree;
    use crate::words::{FileKind, Measures, check};

    #[test]
    fn each_place_is_a_word_and_each_word_at_a_place_is_one() {
        let mut ids = HashSet::from([TOP, PLAN_TOP, HOUSE_TOP, ANYWHERE]);
        let twice: Vec<_> = rows().filter(|word| !ids.insert(word.id)).map(|word| word.id).collect();
        assert!(twice.is_empty(), "a word that stands in two places says an `id` of its own in one: {twice:?}");
        assert!(rows().flat_map(|word| word.below).all(|place| ids.contains(place)), "a place that is no word");
        let mut places = HashSet::new();
        assert!(
            rows().all(|word| word.below.iter().all(|place| places.insert((*place, word.name)))),
            "two rows of one name at one place"
        );
        assert!(rows().all(|word| !word.below.is_empty()), "a word that stands nowhere");
    }

    #[test]
    fn each_row_is_written_as_the_language_is() {
        let kebab = |name: &str| {
            !name.is_empty() && name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
        };
        for word in rows() {
            let values = || word.args.iter().chain(word.props);
            assert!(kebab(word.name) && values().all(|value| kebab(value.name)), "{}", word.id);
            for meaning in values().map(|value| value.meaning).chain([word.meaning]) {
                assert!(meaning.ends_with('.') && !meaning.contains("  "), "{}: {meaning:?}", word.id);
            }
            let mut names = HashSet::new();
            assert!(values().all(|value| names.insert(value.name)), "{}: two values of one name", word.id);
            let either = match word.either {
                Some(crate::words::Either::AtLeast(names) | crate::words::Either::Just(names)) => names,
                None => &[],
            };
            let order = word.order.map(|(a, b)| [a, b]);
            for name in either.iter().chain(order.iter().flatten()).chain(&word.also_key) {
                assert!(names.contains(name), "{}: {name} is none of its values", word.id);
            }
            // An argument behind one that may be left out could not be told from it.
            let required: Vec<bool> = word.args.iter().map(|arg| arg.required).collect();
            assert!(required.is_sorted_by(|a, b| a >= b), "{}: a needed argument behind one that isn't", word.id);
        }
    }

    #[test]
    fn each_default_could_be_written() {
        for word in rows() {
            for value in word.args.iter().chain(word.props) {
                let Some(default) = value.default else { continue };
                let tree = Tree::parse(&format!("x {default}"));
                let entry = tree.entries(tree.roots().next().unwrap()).next().unwrap();
                assert!(value.read(&entry, Measures::Metric).is_ok(), "{} {}: {default}", word.id, value.name);
            }
        }
    }

    #[test]
    fn each_range_has_its_ends_in_order() {
        for word in rows() {
            for value in word.args.iter().chain(word.props) {
                let Some((least, greatest)) = value.range else { continue };
                assert!(least < greatest, "{} {}", word.id, value.name);
            }
        }
    }

    #[test]
    fn an_empty_kit_or_root_file_lacks_nothing() {
        assert_eq!(check(&Tree::parse(""), FileKind::Kit), []);
        assert_eq!(check(&Tree::parse(""), FileKind::House), []);
    }
}
