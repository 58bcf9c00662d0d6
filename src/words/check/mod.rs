//! The one walker over the vocabulary: says everything in a tree that doesn't fit it.

mod dates;
mod fixes;
mod node;
mod siblings;
mod value;

use std::collections::HashMap;
use std::sync::LazyLock;

use super::place::Standing;
use super::prose::list;
use super::table::row;
use super::{
    FileKind, Measures, NodeDef, VocabularyError, VocabularyErrorKind, VocabularyFix, near, vocabulary, words_below,
    words_of,
};
use crate::findings::{Said, Wording, said};
use crate::source::Span;
use crate::syntax::{NodeId, Tree, Value};

/// How many slips of one text are said at most.
pub(crate) const MOST: usize = 2_000;

/// Says everything in a tree that doesn't fit the vocabulary, in document order.
///
/// Of a text with more errors than anybody would read, the first two thousand are said, so that time and memory stay with the
/// text's length. One cause is one error: what stands below a word that nobody understands, and what an error of the syntax has
/// swallowed, is passed over.
pub fn check(tree: &Tree, kind: FileKind) -> Vec<VocabularyError> {
    let mut walk = Walk {
        tree,
        kind,
        measures: Measures::of(tree),
        broken_at: tree.errors().iter().map(|error| error.span.start).collect(),
        errors: Vec::new(),
    };
    walk.broken_at.sort_unstable();
    let mut words: HashMap<NodeId, Option<&'static NodeDef>> = HashMap::new();
    // The last word below each parent whose header an error of the syntax has broken.
    let mut opened: HashMap<Option<NodeId>, &'static NodeDef> = HashMap::new();
    for node in tree.nodes() {
        if walk.errors.len() >= MOST {
            break;
        }
        let name = tree.name(node);
        let parent = tree.parent(node);
        let above = parent.and_then(|parent| words.get(&parent).copied().flatten());
        let mut standing = match (parent, above) {
            (None, _) => Standing::at_top(&name.text, kind),
            (Some(_), Some(word)) => Standing::below(word, &name.text),
            (Some(_), None) => Standing::below_unknown(&name.text),
        };
        // Below a header whose brace an open quote has swallowed.
        let swallowed = opened.get(&parent).and_then(|broken| row(broken.id, &name.text));
        if let (false, Some(word)) = (matches!(standing, Standing::Fits(_)), swallowed) {
            standing = Standing::Fits(word);
        }
        if parent.is_none() || above.is_some() {
            walk.standing(node, above, standing);
        }
        if let Some(word) = standing.word() {
            walk.node(node, word);
        }
        if let Some(word) = standing.word().filter(|_| walk.is_broken(node)) {
            opened.insert(parent, word);
        }
        words.insert(node, standing.word());
    }
    walk.siblings(None, tree.roots().collect(), &words);
    for node in tree.nodes().take_while(|node| words.contains_key(node)) {
        if walk.errors.len() >= 2 * MOST {
            break;
        }
        walk.siblings(Some(node), tree.children(node).collect(), &words);
    }
    walk.errors.sort_by_key(|error| (error.span.start, error.span.end));
    walk.errors.truncate(MOST);
    walk.errors
}

struct Walk<'t> {
    tree: &'t Tree,
    kind: FileKind,
    measures: Measures,
    /// Where the errors of the syntax begin, in order.
    broken_at: Vec<u32>,
    errors: Vec<VocabularyError>,
}

impl Walk<'_> {
    fn error(&mut self, kind: VocabularyErrorKind, span: Span, message: Said, fixes: Vec<VocabularyFix>) {
        self.errors.push(VocabularyError { kind, span, message, related: Vec::new(), fixes });
    }

    /// Whether an error of the syntax lies in a node's header or just behind it, so that what it lacks may be there.
    fn is_broken(&self, node: NodeId) -> bool {
        if self.broken_at.is_empty() {
            return false;
        }
        let header = self.tree.header_span(node);
        let behind = self.tree.text().as_bytes().iter().skip(header.end as usize).take(80);
        let end = header.end + behind.take_while(|byte| **byte != b'\n').count() as u32;
        self.has_error(Span::new(header.start, end))
    }

    /// Whether an error of the syntax begins in a span or just behind it.
    fn has_error(&self, span: Span) -> bool {
        let next = self.broken_at.partition_point(|start| *start < span.start);
        self.broken_at.get(next).is_some_and(|start| *start <= span.end)
    }

    /// Says where a node's name doesn't fit.
    fn standing(&mut self, node: NodeId, above: Option<&'static NodeDef>, standing: Standing) {
        let name = self.tree.name(node);
        if name.text.is_empty() {
            return;
        }
        match standing {
            Standing::Fits(_) => {}
            Standing::Misplaced(word) => self.misplaced(node, above, word),
            Standing::Unknown(meant) => {
                if let Some(prop) = above.and_then(|above| above.prop(&name.text)) {
                    return self.wants_line_of_parent(node, prop.name);
                }
                let mut message = said!("`{word}` is no word of the plan language", word = name.text);
                let mut fixes = Vec::new();
                match meant {
                    Some(word) => {
                        message += said!(": did you mean `{meant}`?", meant = Wording(word.name));
                        fixes.push(VocabularyFix::write(name.span, word.name, near::kind(&name.text, word.name)));
                    }
                    None => message += self.what_fits(above),
                }
                self.error(VocabularyErrorKind::UnknownWord, name.span, message, fixes);
            }
        }
    }

    /// The words that may stand at a place, as the end of a sentence.
    fn what_fits(&self, above: Option<&'static NodeDef>) -> Said {
        let (place, words): (String, Vec<_>) = match above {
            Some(above) => (format!("below `{}`", above.name), words_of(above).collect()),
            None => ("here".to_owned(), words_below(None, self.kind).collect()),
        };
        match words.as_slice() {
            [_allow] => said!("; nothing but `allow` stands {place}", place = Wording(&place)),
            words => said!(
                "; {place} stand {words}",
                words = Wording(&list(words.iter().map(|word| format!("`{}`", word.name)), "and")),
                place = Wording(&place)
            ),
        }
    }

    fn misplaced(&mut self, node: NodeId, above: Option<&'static NodeDef>, word: &'static NodeDef) {
        let name = self.tree.name(node);
        if above.is_some_and(|above| above.prop(&name.text).is_some()) {
            return self.wants_line_of_parent(node, word.name);
        }
        let place = match above {
            Some(above) => format!("below `{}`", above.name),
            None => match self.kind {
                FileKind::Plan => "at the top of a plan file".to_owned(),
                FileKind::Kit => "at the top of a kit file".to_owned(),
                FileKind::House => "at the top of `leadsman.kdl`".to_owned(),
            },
        };
        let message = said!(
            "`{word}` can't stand {place}: it belongs {belongs}",
            word = name.text,
            belongs = Wording(belongs(word.name)),
            place = Wording(&place)
        );
        self.error(VocabularyErrorKind::Misplaced, name.span, message, Vec::new());
    }

    /// A line of its own for what its parent takes as a property.
    fn wants_line_of_parent(&mut self, node: NodeId, prop: &str) {
        let parent = self.tree.parent(node).map(|parent| self.tree.name(parent).text.into_owned());
        let value = self.tree.entries(node).next().map(|entry| self.tree.text()[entry.span.range()].to_owned());
        let message = said!(
            "`{prop}` is no line of its own: it stands on the line of `{line}`, as `{prop}={value}`",
            line = parent.unwrap_or_default(),
            value = value.as_deref().unwrap_or("…"),
            prop
        );
        self.error(VocabularyErrorKind::Misplaced, self.tree.name(node).span, message, Vec::new());
    }
}

/// Where the words of a name belong.
fn belongs(name: &'static str) -> &'static str {
    static PLACES: LazyLock<HashMap<&str, String>> = LazyLock::new(|| {
        let places = |name: &str| list(vocabulary().filter(|word| word.name == name).map(NodeDef::belongs), "or");
        vocabulary().map(|word| (word.name, places(word.name))).collect()
    });
    PLACES.get(name).map_or("", String::as_str)
}

/// The text of a first argument, where it can name something.
fn key_of(tree: &Tree, node: NodeId) -> Option<String> {
    let first = tree.entries(node).find(|entry| entry.key.is_none())?;
    match first.value {
        Value::Text(text) => Some(text.into_owned()),
        Value::Integer(number) => Some(number.to_string()),
        _ => None,
    }
}
