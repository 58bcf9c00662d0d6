//! `use-outside`: a path out of the archive's root, or to nothing that is read.

use super::link;
use crate::findings::{Finding, Level};
use crate::rules::{Family, LinkKind, Mends, Rule};
use crate::source::{FileId, Place, Span};

/// The rule. Nothing is read to find it out: the path alone tells, or the system.
pub const RULE: Rule = Rule {
    slug: "use-outside",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: false,
    statuses: &[],
    page: include_str!("use_outside.md"),
    look: |look, out| link::say(&RULE, LinkKind::UseOutside, look, out),
};

/// A file or folder of the archive that is not read, and why.
pub fn refused(file: &FileId, why: &str) -> Finding {
    RULE.finding(Place::new(file.clone(), Span::at(0)), format!("{file} is not read: it {why}"))
}
