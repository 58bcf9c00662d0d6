//! From trees to the typed plan and kit.

mod dive;
mod house;
mod kit;
mod mention;
mod read;
mod resolve;
mod view;

use std::sync::Arc;

pub use dive::{MOST_LEGS, plan};
pub use mention::{Mention, ThingKind};
pub use resolve::scope;
pub use view::{Node, Source};

use super::{Apparatus, Canister, Course, Cylinder, Defined, Diver, House, Routine, Site, Status, Waiver};
use crate::source::{FileId, Placed, Span};
use crate::syntax::{NodeId, Tree};

/// All that one file says, read but not yet resolved: paths and names are as written.
#[derive(Debug)]
pub struct ParsedFile {
    /// The file, its tree and its measures.
    pub source: Source,
    /// The paths of its `use`s, in order.
    pub uses: Vec<Placed<String>>,
    /// Units it defines, in order; so with the other things.
    pub units: Vec<Arc<Defined<Apparatus>>>,
    /// Canisters.
    pub canisters: Vec<Arc<Defined<Canister>>>,
    /// Cylinders.
    pub cylinders: Vec<Arc<Defined<Cylinder>>>,
    /// Divers.
    pub divers: Vec<Arc<Defined<Diver>>>,
    /// Sites.
    pub sites: Vec<Arc<Defined<Site>>>,
    /// Routines.
    pub routines: Vec<Arc<Defined<Routine>>>,
    /// Courses.
    pub courses: Vec<Arc<Defined<Course>>>,
    /// Its `record`s for things of other files.
    pub records: Vec<NodeId>,
    /// Its waivers.
    pub waivers: Vec<Waiver>,
    /// What it says as an archive's root file: limits, levels.
    pub house: House,
    /// Its plan's node.
    pub plan: Option<NodeId>,
    /// The path of the template that the plan starts from.
    pub from: Option<Placed<String>>,
    /// What the plan is for.
    pub status: Option<Status>,
    /// Every name in it that stands for a thing.
    pub mentions: Vec<Mention>,
}

impl ParsedFile {
    /// Reads a file's tree.
    pub fn read(file: FileId, tree: Tree) -> ParsedFile {
        ParsedFile::as_far(file, tree, true)
    }

    /// The same without what is said of the things that it defines and of the house: for the names in it alone.
    pub(crate) fn outline(file: FileId, tree: Tree) -> ParsedFile {
        ParsedFile::as_far(file, tree, false)
    }

    fn as_far(file: FileId, tree: Tree, whole: bool) -> ParsedFile {
        fn thing<T: kit::Thing>(node: &Node<'_>, whole: bool) -> Arc<Defined<T>> {
            if whole { kit::defined(node, kit::thing(node)) } else { kit::named(node) }
        }
        let source = Source::new(file, tree);
        let mut word = ParsedFile {
            uses: Vec::new(),
            units: Vec::new(),
            canisters: Vec::new(),
            cylinders: Vec::new(),
            divers: Vec::new(),
            sites: Vec::new(),
            routines: Vec::new(),
            courses: Vec::new(),
            records: Vec::new(),
            waivers: house::waivers(&source),
            house: if whole { house::house(&source) } else { House::default() },
            plan: None,
            from: None,
            status: None,
            mentions: mention::mentions(&source),
            source,
        };
        let source = word.source.clone();
        for node in source.roots() {
            match &*node.name() {
                "use" => word.uses.extend(node.text_arg(0)),
                "unit" => word.units.push(thing(&node, whole)),
                "canister" => word.canisters.push(thing(&node, whole)),
                "cylinder" => word.cylinders.push(thing(&node, whole)),
                "diver" => word.divers.push(thing(&node, whole)),
                "site" => word.sites.push(kit::defined(&node, dive::site(&node))),
                "routine" => word.routines.push(kit::defined(&node, kit::routine(&node))),
                "course" => word.courses.push(kit::defined(&node, kit::course(&node))),
                "record" => word.records.push(node.id()),
                "plan" if word.plan.is_none() => {
                    word.plan = Some(node.id());
                    word.from = node.text("from");
                    word.status = dive::status(&node);
                }
                _ => {}
            }
        }
        word
    }

    /// The plan as this file alone says it.
    pub fn plan_node(&self) -> Option<Node<'_>> {
        self.plan.map(|id| Node::new(&self.source, id))
    }

    /// The definitions in the file: kind, name, and where the whole of each stands.
    pub fn definitions(&self) -> impl Iterator<Item = (ThingKind, &Placed<String>, Span)> {
        fn each<T>(
            kind: ThingKind,
            things: &[Arc<Defined<T>>],
        ) -> impl Iterator<Item = (ThingKind, &Placed<String>, Span)> {
            things.iter().map(move |thing| (kind, &thing.name, thing.whole))
        }
        each(ThingKind::Unit, &self.units)
            .chain(each(ThingKind::Canister, &self.canisters))
            .chain(each(ThingKind::Cylinder, &self.cylinders))
            .chain(each(ThingKind::Diver, &self.divers))
            .chain(each(ThingKind::Site, &self.sites))
            .chain(each(ThingKind::Routine, &self.routines))
            .chain(each(ThingKind::Course, &self.courses))
    }
}
