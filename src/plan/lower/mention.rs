//! Where a file names things.

use serde::{Deserialize, Serialize};

use std::fmt;

use super::view::{Node, Source};
use crate::findings::texts;
use crate::plan::{NameUse, Role, SwitchTo};
use crate::source::Placed;
use crate::syntax::NodeId;
use crate::words::OPEN;

/// The kinds of thing that have a name of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum ThingKind {
    /// A breathing unit.
    Unit,
    /// An absorbent canister.
    Canister,
    /// A cylinder.
    Cylinder,
    /// A diver.
    Diver,
    /// A site.
    Site,
    /// A preparation routine.
    Routine,
    /// A course.
    Course,
}

impl ThingKind {
    /// All of them.
    pub const ALL: [ThingKind; 7] = [
        ThingKind::Unit,
        ThingKind::Canister,
        ThingKind::Cylinder,
        ThingKind::Diver,
        ThingKind::Site,
        ThingKind::Routine,
        ThingKind::Course,
    ];

    /// Those that other files add dated records to.
    pub const RECORDED: &[ThingKind] = &[ThingKind::Unit, ThingKind::Canister, ThingKind::Cylinder, ThingKind::Diver];

    /// The word that defines one.
    pub const fn word(self) -> &'static str {
        match self {
            ThingKind::Unit => "unit",
            ThingKind::Canister => "canister",
            ThingKind::Cylinder => "cylinder",
            ThingKind::Diver => "diver",
            ThingKind::Site => "site",
            ThingKind::Routine => "routine",
            ThingKind::Course => "course",
        }
    }
}

texts!(ThingKind);

impl fmt::Display for ThingKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A name in a file that stands for a thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mention {
    /// What kind of thing is meant; `None` for a `record`, which may be any thing's.
    pub kind: Option<ThingKind>,
    /// The name.
    pub name: NameUse,
    /// What it is named as: a cylinder's role, or the property or word that names it.
    pub part: String,
    /// Whether this is where the thing is defined.
    pub defines: bool,
    /// Whether the thing may be without a definition of its own, since enough is said of it here: a plan's site.
    pub may_be_undefined: bool,
    /// Whether it says whose a measured, dated or signed fact is, so that no fix may change it.
    pub of_fact: bool,
    /// The node that holds the name.
    pub node: NodeId,
}

/// Every name in a file that stands for a thing, in document order.
pub(super) fn mentions(source: &Source) -> Vec<Mention> {
    let tree = &source.tree;
    let mut mentions = Vec::new();
    for id in tree.nodes() {
        let node = Node::new(source, id);
        let parent = tree.parent(id).map(|parent| tree.name(parent).text);
        below(&node, parent.as_deref(), &mut mentions);
    }
    mentions
}

fn below(node: &Node<'_>, parent: Option<&str>, mentions: &mut Vec<Mention>) {
    let name = node.name();
    let mut say = |kind: Option<ThingKind>, name: Option<Placed<String>>, part: &str| {
        if let Some(name) = name.filter(|name| !name.value.is_empty() && name.value != OPEN) {
            mentions.push(Mention {
                kind,
                name,
                part: part.to_owned(),
                defines: false,
                may_be_undefined: false,
                of_fact: &*node.name() == "record"
                    || parent == Some("record")
                    || node.word().is_some_and(|word| word.fact),
                node: node.id(),
            });
        }
    };
    use ThingKind::{Canister, Cylinder, Diver, Routine, Site, Unit};
    match (parent, &*name) {
        (None, word) if let Some(kind) = ThingKind::ALL.into_iter().find(|kind| kind.word() == word) => {
            say(Some(kind), node.key_name(), word);
            if let Some(mention) = mentions.last_mut().filter(|mention| mention.node == node.id()) {
                mention.defines = true;
            }
        }
        (Some("plan"), "course") => say(Some(ThingKind::Course), node.key_name(), "course"),
        (None, "record") => say(None, node.key_name(), "record"),
        (Some("plan"), "site") => {
            say(Some(Site), node.key_name(), "site");
            let bare = node.prop_count() == 0 && node.children().is_empty();
            if let Some(mention) = mentions.last_mut().filter(|mention| mention.node == node.id()) {
                mention.may_be_undefined = !bare;
            }
        }
        (Some("dive" | "otherwise"), "diver") => {
            say(Some(Diver), node.key_name(), "diver");
            say(Some(Unit), node.text("unit"), "unit");
            for role in Role::ALL.map(Role::word) {
                say(Some(Cylinder), node.text(role), role);
            }
        }
        (Some("diver"), "cylinder") => {
            let role = node.text("role");
            say(Some(Cylinder), node.key_name(), role.as_ref().map_or("cylinder", |role| &role.value));
        }
        (Some("dived"), "cylinder") => say(Some(Cylinder), node.key_name(), "cylinder"),
        // Under a diver or a record, `dived` says what apparatus and no name.
        (above, "dived" | "prepared") if !matches!(above, Some("diver" | "record")) => {
            say(Some(Diver), node.key_name(), &name);
            say(Some(Routine), node.text("routine"), "routine");
        }
        (Some("unit" | "record"), "bed") => say(Some(Canister), node.key_name(), "bed"),
        (_, "switch") => {
            let to = node.text_arg(0).filter(|to| matches!(SwitchTo::of_text(&to.value), SwitchTo::Cylinder(_)));
            say(Some(Cylinder), to, "switch");
        }
        (_, "drop" | "take") => say(Some(Cylinder), node.text_arg(0), &name),
        (_, "bail-out" | "off-loop" | "on-loop") => say(Some(Diver), node.text("who"), "who"),
        _ => {}
    }
}
