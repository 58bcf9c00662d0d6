//! What of a file's names, uses and templates can't be resolved.

use crate::findings::{Level, Said};
use crate::source::Place;

/// Something that the archive could not resolve. A rule of the Language family turns it into a finding.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ResolveError {
    /// Which rule raises it.
    pub kind: ResolveErrorKind,
    /// How grave it is.
    pub level: Level,
    /// Where.
    pub place: Place,
    /// What is wrong.
    pub message: Said,
    /// Other places that take part.
    pub related: Vec<(Place, String)>,
    /// What could stand there instead, likeliest first, as text to write.
    pub instead: Vec<String>,
    /// The file that would mend it if this one used it.
    pub bring: Option<Bring>,
}

/// A file that a `use` is forgotten of.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bring {
    /// Its path, as the `use` would write it.
    pub path: String,
    /// The names that it would bring, each once.
    pub names: Vec<String>,
    /// Whether no other file of the archive defines any of them.
    pub only: bool,
}

/// The kinds of resolve error.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum ResolveErrorKind {
    /// A name that nothing in sight defines.
    UnresolvedName,
    /// A definition in a plan that nothing uses.
    UnusedDefinition,
    /// Files that use each other in a ring, or templates that do.
    UseCycle,
    /// A path out of the root, or to nothing.
    UseOutside,
    /// Two files in sight define one name.
    DuplicateName,
}
