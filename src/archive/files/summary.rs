//! What one file says that others may care for, read but not resolved.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::archive::files::path::resolve;
use crate::plan::lower::{Mention, ParsedFile, ThingKind};
use crate::source::{FileId, Place, Placed};
use crate::syntax::{Tree, Value};
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

/// A diver, a unit or a cylinder by its name.
pub(in crate::archive) type Taken = (ThingKind, String);

/// What one file says that others may care for.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(in crate::archive) struct Summary {
    /// What a kit file defines.
    pub defines: Vec<(ThingKind, String, Place)>,
    /// The files that it uses or starts from, as far as paths tell.
    pub uses: BTreeSet<FileId>,
    /// The template that its plan starts from, as far as its path tells.
    pub from: Option<FileId>,
    /// The day of its plan.
    pub day: Option<Date>,
    /// The divers of its plan's dives, and what they take.
    pub names: Arc<BTreeSet<Taken>>,
    /// Whether its plan was dived.
    pub dived: bool,
    /// Whether it waives anything.
    pub waives: bool,
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
            from: word.from.as_ref().filter(|_| kind == FileKind::Plan).and_then(target),
            day: part.day,
            names: Arc::new(word.mentions.iter().filter(|_| kind == FileKind::Plan).filter_map(taken).collect()),
            dived: part.dived,
            waives: !word.waivers.is_empty(),
        }
    }
}

/// What a mention says that a dive has or takes; `None` for what is named for anything else.
fn taken(mention: &Mention) -> Option<Taken> {
    let is = match mention.kind? {
        // Who bails out, and whose record it is, is told by another part.
        ThingKind::Diver => mention.part == "diver",
        ThingKind::Unit | ThingKind::Cylinder => true,
        _ => false,
    };
    (is && !mention.defines).then(|| Some((mention.kind?, mention.name.value.clone())))?
}

/// What a file's first plan says of itself that others may care for.
#[derive(Debug, Default)]
struct PlanPart {
    day: Option<Date>,
    dived: bool,
}

impl PlanPart {
    fn of(tree: &Tree) -> Option<PlanPart> {
        let plan = tree.roots().find(|node| tree.name(*node).text == "plan")?;
        let said = |key: &str| {
            let entry = tree.entries(plan).find(|entry| entry.key.as_ref().is_some_and(|own| own.text == key))?;
            if let Value::Text(text) = entry.value { Some(text) } else { None }
        };
        Some(PlanPart {
            day: said("on").and_then(|day| day.parse().ok()),
            dived: said("status").is_some_and(|status| status == "dived"),
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::path::{Path, PathBuf};

    /// The outline of a file says of it what all of it says, over every example and every case of a rule.
    #[test]
    fn an_outline_is_enough() {
        let (mut ahead, mut files) = (vec![PathBuf::from("examples"), PathBuf::from("tests/rules")], 0);
        while let Some(folder) = ahead.pop() {
            for entry in std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    ahead.push(path);
                } else if path.extension().is_some_and(|extension| extension == "kdl") {
                    let text = String::from_utf8_lossy(&std::fs::read(&path).unwrap()).into_owned();
                    let id = FileId::new(path.file_name().unwrap().to_str().unwrap());
                    let of = |read: fn(FileId, Tree) -> ParsedFile| Summary::of(&read(id.clone(), Tree::parse(&text)));
                    assert_eq!(of(ParsedFile::outline), of(ParsedFile::read), "{}", path.display());
                    files += 1;
                }
            }
        }
        assert!(files > 300, "{files}");
    }
}
