//! What an archive's root file says, and the waivers of any file.

use super::dive::limits;
use super::view::{Node, Source};
use crate::findings::Level;
use crate::plan::{House, HouseLevel, Waiver};
use crate::source::{Placed, Span};

/// The limits and levels at the top of a file. Its uses are resolved elsewhere.
pub(super) fn house(source: &Source) -> House {
    let mut house = House::default();
    for node in source.roots() {
        match &*node.name() {
            "limits" => house.limits = limits(&node),
            "exclude" => house.excludes.extend(node.text_arg(0)),
            "level" => house.levels.extend(level(&node)),
            _ => {}
        }
    }
    house
}

fn level(node: &Node<'_>) -> Option<HouseLevel> {
    let word = node.text_arg(1)?;
    let level = [Level::Note, Level::Warning, Level::Error].into_iter().find(|level| level.word() == word.value)?;
    Some(HouseLevel {
        rule: node.key_name()?,
        level: Placed::new(level, word.place),
        because: node.text("because"),
        place: node.header(),
    })
}

/// Every `allow` of a file with the node that it stands in; one at the top stands for the whole file.
pub(super) fn waivers(source: &Source) -> Vec<Waiver> {
    let tree = &source.tree;
    let named = tree.nodes().filter(|id| tree.name(*id).text == "allow");
    named
        .filter_map(|id| {
            let node = Node::new(source, id);
            let whole_file = || Span::new(0, u32::try_from(tree.text().len()).unwrap_or(u32::MAX));
            let scope = tree.parent(id).map_or_else(whole_file, |parent| tree.span(parent));
            Some(Waiver {
                rule: node.key_name()?,
                because: node.text("because"),
                place: node.header(),
                scope: source.place(scope),
            })
        })
        .collect()
}
