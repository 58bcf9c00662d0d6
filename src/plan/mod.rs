//! The typed plan and kit, lowered from trees; every value keeps its place.
//!
//! Values are in the inside units that their names carry (`_m`, `_bar`, `_l`, `_lpm`, `_min`, `_c`); gauge
//! pressures stay gauge (`_gauge_bar`). Whatever a file leaves out, or says in a way that can't be read, is
//! `None`: the rules of the Language family speak about the defect, the other rules about the missing fact.

mod dive;
mod gaps;
mod kit;
mod leg;
mod limits;
pub mod lower;
mod resolve_error;
mod role;
mod scope;
mod site;

pub use dive::*;
pub(crate) use gaps::Gap;
pub use kit::*;
pub(crate) use leg::Leg;
pub use leg::{LegKind, SwitchTo, Way};
pub(crate) use limits::{Limit, Limits};
pub(crate) use resolve_error::{Bring, ResolveError, ResolveErrorKind};
pub use role::Role;
pub use scope::*;

use jiff::civil::Date;

use crate::source::{FileId, Place, Placed, Span};

/// A value that a file may leave out.
pub type Maybe<T> = Option<Placed<T>>;

/// What kind of breathing apparatus.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ApparatusKind {
    /// Open circuit.
    Open,
    /// Gas is fed to the loop, always on and/or opened by a controller.
    SemiClosed,
    /// Each breath spills a share of the loop.
    Passive,
    /// A controller holds a set-point in bar.
    Closed,
}

impl ApparatusKind {
    /// The apparatus as a sentence names it.
    pub fn phrase(self) -> &'static str {
        match self {
            ApparatusKind::Open => "open circuit",
            ApparatusKind::SemiClosed => "a semi-closed unit",
            ApparatusKind::Passive => "a passive unit",
            ApparatusKind::Closed => "a closed unit",
        }
    }
}

impl ApparatusKind {
    /// All kinds.
    pub const ALL: [ApparatusKind; 4] =
        [ApparatusKind::Open, ApparatusKind::SemiClosed, ApparatusKind::Passive, ApparatusKind::Closed];

    /// The word that a plan uses.
    pub const fn word(self) -> &'static str {
        match self {
            ApparatusKind::Open => "open",
            ApparatusKind::SemiClosed => "semi-closed",
            ApparatusKind::Passive => "passive",
            ApparatusKind::Closed => "closed",
        }
    }
}

/// A mix as written: percent of oxygen and helium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WrittenMix {
    /// Oxygen, percent.
    pub o2_percent: f64,
    /// Helium, percent; 0 where not written.
    pub he_percent: f64,
}

/// A name used somewhere, and what stands there.
pub type NameUse = Placed<String>;

/// A named thing as it is defined, with what a finding needs to point at it.
#[derive(Debug, Clone, PartialEq)]
pub struct Defined<T> {
    /// The name.
    pub name: Placed<String>,
    /// The header of the node that defines it.
    pub header: Place,
    /// The whole node.
    pub whole: Span,
    /// The words below it whose values are usual ones and nobody's own, each where it stands.
    pub usual: Vec<Placed<String>>,
    /// The thing.
    pub thing: T,
}

/// A dated record under a thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Dated<T> {
    /// The day it is of; a record without a readable date holds for no plan.
    pub on: Maybe<Date>,
    /// The node that says it.
    pub place: Place,
    /// What it says.
    pub what: T,
}

/// The last record on or before `day`; among records of one day, the one written last.
pub fn as_of<T>(records: &[Dated<T>], day: Date) -> Option<&Dated<T>> {
    records
        .iter()
        .filter(|record| record.on.as_ref().is_some_and(|on| on.value <= day))
        .max_by_key(|record| record.on.as_ref().map(|on| on.value))
}

/// `use "path"`: a file whose definitions this one brings in.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    /// The path as written.
    pub path: Placed<String>,
    /// The file meant, when it lies inside the root.
    pub file: Option<FileId>,
}

/// `allow "rule-slug" because="…"`: a waiver for a node and what is below it.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiver {
    /// The rule's slug, as written.
    pub rule: Placed<String>,
    /// The reason.
    pub because: Maybe<String>,
    /// The waiver's own node.
    pub place: Place,
    /// What it covers: the node it stands in, or the whole file.
    pub scope: Place,
}

impl Waiver {
    /// The written reason; `None` where there is none or it is blank.
    pub fn reason(&self) -> Option<&str> {
        self.because.as_ref().map(|because| because.value.trim()).filter(|because| !because.is_empty())
    }
}
