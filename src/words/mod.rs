//! The vocabulary of the plan language: one table, [`VOCABULARY`], of every node, argument and property with its
//! quantity, range, default, meaning and key; and the one walker over it that says what doesn't fit.

mod quantity;
mod slip;

pub use quantity::{
    ATM_BAR, Amount, CUBIC_FOOT_L, FOOT_M, FSW_M, INHG_BAR, Litres, MMHG_BAR, MSW_M, Measures, POUND_KG, PSI_BAR,
    Quantity, Unit, UnitFault, water_litres,
};
pub use slip::{Slip, SlipKind};

use crate::syntax::{NodeId, Tree};

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

/// A node word of the vocabulary, as it may stand below one parent.
#[derive(Debug)]
pub struct NodeWord {
    /// The word.
    pub name: &'static str,
    /// Its meaning, in a sentence or two, as hover shows it.
    pub meaning: &'static str,
    /// The words it may stand below; `""` is the top of a file.
    pub below: &'static [&'static str],
    /// Its arguments, in order.
    pub args: &'static [ValueWord],
    /// Its properties.
    pub props: &'static [ValueWord],
    /// What tells two of its kind below one parent apart.
    pub key: Key,
    /// Whether its parent wants one.
    pub wanted: bool,
}

/// An argument or a property of the vocabulary.
#[derive(Debug)]
pub struct ValueWord {
    /// The property's name, or the argument's name in the documentation.
    pub name: &'static str,
    /// Its meaning, in a sentence.
    pub meaning: &'static str,
    /// What it takes.
    pub quantity: Quantity,
    /// The least and greatest value that can be meant, in the inside unit.
    pub range: Option<(f64, f64)>,
    /// Whether it must be there.
    pub required: bool,
    /// What holds when it is left out, as written in a plan.
    pub default: Option<&'static str>,
    /// Whether it may be repeated (the last argument only).
    pub many: bool,
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

/// What the walker needs to have looked up before a tree's nodes can be understood.
#[allow(clippy::todo, unused_variables)]
pub fn word_of(tree: &Tree, node: NodeId) -> Option<&'static NodeWord> {
    todo!()
}

/// Says everything in a tree that doesn't fit the vocabulary, in document order.
#[allow(clippy::todo, unused_variables)]
pub fn check(tree: &Tree, kind: FileKind) -> Vec<Slip> {
    todo!()
}
