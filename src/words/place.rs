//! What a node means where it stands.

use super::table::{ANYWHERE, HOUSE_TOP, PLAN_TOP, TOP, row, rows};
use super::{FileKind, NodeDef, ValueDef, near};
use crate::syntax::{EntryId, NodeId, Tree};

/// How a node's name was understood.
#[derive(Debug, Clone, Copy)]
pub(super) enum Standing {
    /// A word that may stand here.
    Fits(&'static NodeDef),
    /// A word, but of another place.
    Misplaced(&'static NodeDef),
    /// No word; the one clearly meant, if there is one.
    Unknown(Option<&'static NodeDef>),
}

impl Standing {
    /// The word that the node's values and children are read by.
    pub(super) fn word(self) -> Option<&'static NodeDef> {
        match self {
            Standing::Fits(word) | Standing::Misplaced(word) => Some(word),
            Standing::Unknown(meant) => meant,
        }
    }

    /// Understands a name at the top of a file.
    pub(super) fn at_top(name: &str, kind: FileKind) -> Standing {
        match row(TOP, name).or_else(|| row(own_top(kind)?, name)) {
            Some(word) => Standing::Fits(word),
            None => Standing::elsewhere(name, words_below(None, kind)),
        }
    }

    /// Understands a name below a word.
    pub(super) fn below(parent: &'static NodeDef, name: &str) -> Standing {
        match row(parent.id, name) {
            Some(word) => Standing::Fits(word),
            None => Standing::elsewhere(name, words_of(parent)),
        }
    }

    /// Understands a name below something that nobody understands: the first word of that name will do.
    pub(super) fn below_unknown(name: &str) -> Standing {
        rows().find(|word| word.name == name).map_or(Standing::Unknown(None), Standing::Fits)
    }

    fn elsewhere(name: &str, here: impl Iterator<Item = &'static NodeDef>) -> Standing {
        if let Some(word) = rows().find(|word| word.name == name) {
            return Standing::Misplaced(word);
        }
        let here: Vec<_> = here.collect();
        let nearest = near::nearest(name, here.iter().map(|word| word.name));
        Standing::Unknown(nearest.and_then(|name| here.iter().find(|word| word.name == name).copied()))
    }
}

/// The top of a file that holds words of one kind of file alone.
fn own_top(kind: FileKind) -> Option<&'static str> {
    match kind {
        FileKind::Plan => Some(PLAN_TOP),
        FileKind::House => Some(HOUSE_TOP),
        FileKind::Kit => None,
    }
}

/// The words that may stand below a word, `allow` last; at the top of a file of a kind where there is none above.
pub(crate) fn words_below(parent: Option<&NodeDef>, kind: FileKind) -> impl Iterator<Item = &'static NodeDef> + use<> {
    let place = parent.map_or(TOP, |word| word.id);
    let own = if parent.is_none() { own_top(kind) } else { None };
    let stands = move |word: &&NodeDef| word.below.iter().any(|below| *below == place || Some(*below) == own);
    rows().filter(stands).chain(rows().filter(|word| word.below.contains(&ANYWHERE)))
}

/// The words that may stand below a word, `allow` last.
pub(crate) fn words_of(parent: &NodeDef) -> impl Iterator<Item = &'static NodeDef> + use<> {
    words_below(Some(parent), FileKind::Plan)
}

/// The word of a node, by its name and the words it stands below. A misplaced or misspelt node has the word that its
/// values are read by; `None` where nothing near is known.
pub fn word_of(tree: &Tree, node: NodeId) -> Option<&'static NodeDef> {
    let mut above = vec![node];
    while let Some(parent) = above.last().and_then(|last| tree.parent(*last)) {
        above.push(parent);
    }
    let top = above.pop()?;
    let name = tree.name(top);
    // No name at the top means different things in different kinds of file.
    let kinds = [FileKind::Plan, FileKind::House];
    let standing = kinds.map(|kind| Standing::at_top(&name.text, kind));
    let fits = |standing: &&Standing| matches!(standing, Standing::Fits(_));
    let mut word = standing.iter().find(fits).unwrap_or(&standing[0]).word();
    while let Some(below) = above.pop() {
        let name = tree.name(below);
        word = match word {
            Some(parent) => Standing::below(parent, &name.text).word(),
            None => Standing::below_unknown(&name.text).word(),
        };
    }
    word
}

/// The word of an argument or a property, by the word of its node and its own name or index.
pub(crate) fn value_word_of(tree: &Tree, entry: EntryId) -> Option<&'static ValueDef> {
    let node = tree.node_of(entry);
    let word = word_of(tree, node)?;
    match tree.entry(entry).key {
        Some(key) => word.prop(&key.text),
        None => word.arg(tree.entries(node).take_while(|other| other.id != entry).filter(|e| e.key.is_none()).count()),
    }
}
