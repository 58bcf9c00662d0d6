//! The vocabulary of the plan language: one table, [`vocabulary`], of every node, argument and property with its
//! quantity, range, default, meaning and key; and the one walker over it that says what doesn't fit.

mod check;
mod error;
mod near;
mod place;
mod prose;
mod quantity;
mod table;
pub(crate) mod trade;

pub use error::{VocabularyError, VocabularyErrorKind, VocabularyFix};
pub use quantity::{Amount, Measures, Quantity, Unit, UnitError};
pub(crate) use quantity::{CUBIC_FOOT_L, FOOT_M, OPEN, PSI_BAR, is_open, water_litres};

use crate::syntax::{Entry, Tree};

pub(crate) use check::MOST as MOST_ERRORS;
pub use check::check;
pub use near::nearest;
pub use place::word_of;
pub(crate) use place::{value_word_of, words_below, words_of};
pub use table::{ANYWHERE, HOUSE_TOP, LIMITS, LimitName, PLAN_TOP, TOP};
pub(crate) use table::{LimitDef, Usual};

/// The kinds of file an archive holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FileKind {
    /// `*.plan.kdl`: one plan.
    Plan,
    /// `*.kit.kdl`: named things and their dated records.
    Kit,
    /// `leadsman.kdl`: the archive's root.
    House,
}

impl FileKind {
    /// The kind of a file by its name; `None` where the archive takes no notice of it.
    pub fn of_name(name: &str) -> Option<FileKind> {
        if name == "leadsman.kdl" {
            Some(FileKind::House)
        } else if name.ends_with(".plan.kdl") {
            Some(FileKind::Plan)
        } else if name.ends_with(".kit.kdl") {
            Some(FileKind::Kit)
        } else {
            None
        }
    }
}

/// A node word of the vocabulary, as it may stand below some others.
#[derive(Debug)]
pub struct NodeDef {
    /// What `below` of other words calls it: one name may mean different things at different places.
    pub id: &'static str,
    /// The word.
    pub name: &'static str,
    /// Its meaning, in a sentence or two, as hover shows it.
    pub meaning: &'static str,
    /// The words it may stand below, by their `id`; `TOP`, `PLAN_TOP`, `HOUSE_TOP` and `ANYWHERE` are places
    /// too.
    pub below: &'static [&'static str],
    /// Its arguments, in order.
    pub args: &'static [ValueDef],
    /// Its properties.
    pub props: &'static [ValueDef],
    /// Which of its values depend on each other being there.
    pub either: Option<Either>,
    /// What tells two of its kind below one parent apart.
    pub key: Key,
    /// A property that may tell two of one key apart.
    pub also_key: Option<&'static str>,
    /// Two of its values of which the first may not exceed the second.
    pub order: Option<(&'static str, &'static str)>,
    /// Whether its parent wants one.
    pub wanted: bool,
    /// Whether it states something measured, dated or signed, whose value no fix may change.
    pub fact: bool,
}

/// An argument or a property of the vocabulary.
#[derive(Debug, Clone, Copy)]
pub struct ValueDef {
    /// The property's name, or the argument's name in the documentation.
    pub name: &'static str,
    /// Its meaning, in a sentence.
    pub meaning: &'static str,
    /// What it takes.
    pub quantity: Quantity,
    /// The least and greatest value that can be meant, in the inside unit (months for a life).
    pub range: Option<(f64, f64)>,
    /// Whether it must be there.
    pub required: bool,
    /// What holds when it is left out, as written in a plan.
    pub default: Option<&'static str>,
    /// Whether it may be repeated (the last argument only).
    pub many: bool,
    /// Whether, in a node that states facts, it says what was asked for rather than what was found.
    pub asked: bool,
}

/// How some values of one node, arguments or properties, depend on each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Either {
    /// At least one of them must be there.
    AtLeast(&'static [&'static str]),
    /// One of them must be there, and no other beside it.
    Just(&'static [&'static str]),
}

/// What tells two nodes of one kind below one parent apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// There is one at most.
    Singleton,
    /// Its first argument.
    FirstArgument,
    /// Its position: they follow each other.
    Position,
}

impl NodeDef {
    /// The property of a name.
    pub fn prop(&self, name: &str) -> Option<&'static ValueDef> {
        self.props.iter().find(|prop| prop.name == name)
    }

    /// The argument at an index; the last one stands for all that follow where it may be repeated.
    pub fn arg(&self, index: usize) -> Option<&'static ValueDef> {
        self.args.get(index).or_else(|| self.args.last().filter(|last| last.many))
    }
}

/// Why a value can't be taken as its word means it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ValueError {
    /// It can't be read as the word's quantity.
    Unit(UnitError),
    /// It can be read, but not be meant: in the inside unit.
    Range(f64),
}

impl ValueDef {
    /// Reads an argument or property as this word's quantity, units converted.
    ///
    /// # Errors
    /// Why it can't be read so, or that it lies outside what can be meant.
    pub fn read(&self, entry: &Entry<'_>, measures: Measures) -> Result<Amount, ValueError> {
        let amount = self.quantity.read_entry(entry, measures).map_err(ValueError::Unit)?;
        let annotation = entry.annotation.as_ref().map(|word| word.text.as_ref());
        match self.beyond(&amount, annotation) {
            Some(number) => Err(ValueError::Range(number)),
            None => Ok(amount),
        }
    }

    /// The number of an amount that can't be meant.
    fn beyond(&self, amount: &Amount, annotation: Option<&str>) -> Option<f64> {
        let number = match amount {
            // A mean month, so that days can be held to the same bounds.
            Amount::Days(days) => f64::from(*days) / DAYS_A_MONTH,
            Amount::Months(months) => f64::from(*months),
            Amount::Date(date) => f64::from(date.year()),
            Amount::FreeGas(litres) => return (!FREE_GAS_L.contains(litres)).then_some(*litres),
            other => other.number()?,
        };
        let fits = match self.quantity {
            Quantity::SetPoint => match annotation {
                Some("percent") => LOOP_PERCENT.contains(&number),
                Some(_) => LOOP_BAR.contains(&number),
                None => LOOP_PERCENT.contains(&number) || LOOP_BAR.contains(&number),
            },
            Quantity::Date => YEARS.contains(&number),
            // Percent below one is a fraction that was meant as percent.
            Quantity::Percent if number > 0.0 && number < 1.0 => false,
            _ => self.range.is_none_or(|(least, greatest)| (least..=greatest).contains(&number)),
        };
        (!fits).then_some(number)
    }
}

/// A year of the Gregorian calendar has 365.2425 days on average.
const DAYS_A_MONTH: f64 = 365.2425 / 12.0;
/// Set-points of a semi-closed loop, percent of oxygen.
const LOOP_PERCENT: std::ops::RangeInclusive<f64> = 21.0..=100.0;
/// Set-points of a closed loop, bar.
const LOOP_BAR: std::ops::RangeInclusive<f64> = 0.2..=1.6;
/// What cylinders named by their free gas hold, litres: from a cubic foot to twice the largest there are.
const FREE_GAS_L: std::ops::RangeInclusive<f64> = 28.0..=15_000.0;
/// Years that a record or a plan can be of.
const YEARS: std::ops::RangeInclusive<f64> = 1950.0..=2150.0;

/// Every word of the language, in the order of its description.
pub fn vocabulary() -> impl Iterator<Item = &'static NodeDef> {
    table::rows()
}

impl Measures {
    /// What bare numbers mean in a file: `measures imperial` at its top, or metric.
    pub fn of(tree: &Tree) -> Measures {
        let said = tree.roots().filter(|node| tree.name(*node).text == "measures").last();
        let system = said.and_then(|node| tree.entries(node).find(|entry| entry.key.is_none()));
        match system.map(|entry| entry.value) {
            Some(crate::syntax::Value::Text(system)) if system == "imperial" => Measures::Imperial,
            _ => Measures::Metric,
        }
    }
}
