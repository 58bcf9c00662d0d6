//! What one file says that others may care for, read but not resolved.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::archive::files::path::resolve;
use crate::plan::lower::{ParsedFile, ThingKind};
use crate::source::{FileId, Place, Placed};
use crate::syntax::{NodeId, Tree, Value};
use crate::words::FileKind;

/// The kind of a file by its name; a file of any other name is read as a plan.
pub(in crate::archive) fn kind_of(id: &FileId) -> FileKind {
    named_kind(id).unwrap_or(FileKind::Plan)
}

/// The kind of a file by its name, if it has a name of the language's.
pub(in crate::archive) fn named_kind(id: &FileId) -> Option<FileKind> {
    let path = id.as_str();
    FileKind::of_name(path.rfind('/').map_or(path, |at| &path[at + 1..]))
}

/// What one file says that others may care for.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(in crate::archive) struct Summary {
    /// What a kit file defines.
    pub defines: Vec<(ThingKind, String, Place)>,
    /// The files that it uses or starts from, as far as paths tell.
    pub uses: BTreeSet<FileId>,
    /// The day of its plan.
    pub day: Option<Date>,
    /// The divers of its plan's dives.
    pub divers: BTreeSet<String>,
    /// Whether its plan was dived.
    pub dived: bool,
}

impl Summary {
    /// What a file says, read but not resolved.
    pub(crate) fn of(word: &ParsedFile) -> Summary {
        let id = &word.source.file;
        let kind = kind_of(id);
        let part = PlanPart::of(&word.source.tree).filter(|_| kind == FileKind::Plan).unwrap_or_default();
        let target = |said: &Placed<String>| resolve(id, &said.value, "").ok();
        let defines = word.definitions().filter(|_| kind == FileKind::Kit);
        Summary {
            defines: defines.map(|(kind, name, _)| (kind, name.value.clone(), name.place.clone())).collect(),
            uses: word.uses.iter().chain(&word.from).filter_map(target).collect(),
            day: part.day,
            divers: part.divers,
            dived: part.dived,
        }
    }
}

/// What a file's first plan says of itself that others may care for.
#[derive(Debug, Default)]
struct PlanPart {
    day: Option<Date>,
    divers: BTreeSet<String>,
    dived: bool,
}

impl PlanPart {
    fn of(tree: &Tree) -> Option<PlanPart> {
        let plan = tree.roots().find(|node| tree.name(*node).text == "plan")?;
        let said = |key: &str| {
            let entry = tree.entries(plan).find(|entry| entry.key.as_ref().is_some_and(|own| own.text == key))?;
            if let Value::Text(text) = entry.value { Some(text) } else { None }
        };
        let is_diver = |node: &NodeId| tree.name(*node).text == "diver" && tree.parent(*node).is_some();
        let name = |node: NodeId| {
            let first = tree.entries(node).find(|entry| entry.key.is_none())?;
            if let Value::Text(name) = first.value { Some(name.into_owned()) } else { None }
        };
        Some(PlanPart {
            day: said("on").and_then(|day| day.parse().ok()),
            divers: tree.nodes().filter(is_diver).filter_map(name).collect(),
            dived: said("status").is_some_and(|status| status == "dived"),
        })
    }
}
