//! What may be written at a place: words that fit there, values that a word takes, names of what is in sight, and what a
//! plan still leaves open.

mod gaps;
mod names;

use std::collections::BTreeSet;

use tower_lsp::ls_types::{
    CompletionItem, CompletionItemKind, CompletionTextEdit, Documentation, InsertTextFormat, MarkupContent, MarkupKind,
    Position, TextEdit,
};

use crate::rules::TABLE;
use crate::server::documents::Here;
use crate::server::place;
use crate::source::Span;
use crate::syntax::{EntryId, NodeId, Part, Tree};
use crate::words::{Measures, NodeDef, Quantity, ValueDef, word_of, words_below};

/// What may be written at a position; nothing in a comment.
pub(crate) fn of(here: &Here<'_>, at: Position) -> Vec<CompletionItem> {
    let Some(tree) = here.archive.tree(&here.file) else { return Vec::new() };
    let asked = Asked { here, tree: &tree, offset: place::offset(&here.text, at, here.abilities().encoding) };
    let at = tree.at(asked.offset);
    match (at.part, at.node) {
        (Part::Block, parent) => asked.words(parent, Span::at(asked.offset)),
        (Part::Name, Some(node)) => asked.words(tree.parent(node), at.span),
        (Part::Header, Some(node)) => asked.in_header(node, Span::at(asked.offset)),
        (Part::Key(entry), Some(node)) => {
            // The key with its `=`, so that none is left behind.
            let end = tree.entry(entry).value_span.start;
            asked.props(node, Span::new(at.span.start, end), Some(entry))
        }
        (Part::Value(entry), Some(node)) => asked.value(node, entry, at.span),
        (Part::Annotation(Some(entry)), Some(node)) => asked.units(node, entry, at.span),
        _ => Vec::new(),
    }
}

/// What is asked: a place in a file.
struct Asked<'a> {
    here: &'a Here<'a>,
    tree: &'a Tree,
    offset: u32,
}

/// Something that may be written.
struct Offer {
    label: String,
    /// What is put in its place: a snippet where the client knows them.
    text: String,
    snippet: bool,
    kind: CompletionItemKind,
    detail: String,
    meaning: String,
}

impl Offer {
    fn new(label: impl Into<String>, kind: CompletionItemKind) -> Offer {
        let label = label.into();
        Offer { text: label.clone(), label, snippet: false, kind, detail: String::new(), meaning: String::new() }
    }
}

impl Asked<'_> {
    /// The words that may stand below a node, and before them what the plan leaves open there.
    fn words(&self, parent: Option<NodeId>, span: Span) -> Vec<CompletionItem> {
        let above = match parent.map(|parent| word_of(self.tree, parent)) {
            // Nobody knows what stands below a word that nobody knows.
            Some(None) => return Vec::new(),
            Some(word) => word,
            None => None,
        };
        let there: BTreeSet<String> = {
            let siblings: Vec<NodeId> = match parent {
                Some(parent) => self.tree.children(parent).collect(),
                None => self.tree.roots().collect(),
            };
            siblings.into_iter().map(|node| self.tree.name(node).text.to_string()).collect()
        };
        let snippets = self.here.abilities().snippets;
        let mut offers = gaps::of(self.here, self.tree, parent, snippets);
        let words = words_below(above, self.here.archive.kind(&self.here.file));
        // What stands once, and does already, can't stand again.
        let fits = |word: &&'static NodeDef| word.key != crate::words::Key::Singleton || !there.contains(word.name);
        offers.extend(words.filter(fits).map(|word| Offer {
            text: if snippets { snippet(word) } else { word.name.to_owned() },
            snippet: snippets,
            meaning: word.hover(Measures::of(self.tree)),
            ..Offer::new(word.name, CompletionItemKind::KEYWORD)
        }));
        self.items(offers, span)
    }

    /// Behind a node's name or a value of it: the next value, and properties.
    fn in_header(&self, node: NodeId, span: Span) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let given = self.tree.entries(node).filter(|entry| entry.key.is_none()).count();
        let mut items = Vec::new();
        if let Some(arg) = word.arg(given) {
            items.extend(self.items(self.values(node, arg), span));
        }
        items.extend(self.props(node, span, None));
        items
    }

    /// Properties that a node doesn't have yet.
    fn props(&self, node: NodeId, span: Span, but: Option<EntryId>) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let others = self.tree.entries(node).filter(|entry| Some(entry.id) != but);
        let there: BTreeSet<String> = others.filter_map(|entry| Some(entry.key?.text.to_string())).collect();
        let free = word.props.iter().filter(|prop| !there.contains(prop.name));
        let offers = free.map(|prop| Offer {
            text: format!("{}=", prop.name),
            meaning: prop.hover(Measures::of(self.tree)),
            detail: if prop.required { "must be there".to_owned() } else { String::new() },
            ..Offer::new(prop.name, CompletionItemKind::PROPERTY)
        });
        self.items(offers.collect(), span)
    }

    /// A value that is being written. A bare word that no `=` follows may become a property.
    fn value(&self, node: NodeId, entry: EntryId, span: Span) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let key = self.tree.entry(entry).key;
        let taken = match &key {
            Some(key) => word.prop(&key.text),
            None => {
                let before = self.tree.entries(node).take_while(|other| other.id != entry);
                word.arg(before.filter(|other| other.key.is_none()).count())
            }
        };
        let mut items = taken.map(|taken| self.items(self.values(node, taken), span)).unwrap_or_default();
        let quoted = self.here.text.slice(span).starts_with(['"', '#']);
        if key.is_none() && !quoted {
            items.extend(self.props(node, span, Some(entry)));
        }
        items
    }

    /// The units that a number may be written in.
    fn units(&self, node: NodeId, entry: EntryId, span: Span) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let key = self.tree.entry(entry).key;
        let taken = match &key {
            Some(key) => word.prop(&key.text),
            None => word.arg(0),
        };
        let units = taken.map(|taken| taken.quantity.units()).unwrap_or_default();
        let offer = |unit: &crate::words::Unit| Offer {
            text: format!("({})", unit.name),
            ..Offer::new(unit.name, CompletionItemKind::UNIT)
        };
        self.items(units.iter().map(offer).collect(), span)
    }

    /// What a word takes for a value, as far as there is something to choose from.
    fn values(&self, node: NodeId, taken: &ValueDef) -> Vec<Offer> {
        let word = |text: &str| Offer::new(text, CompletionItemKind::ENUM_MEMBER);
        match taken.quantity {
            Quantity::OneOf(words) => words.iter().map(|text| word(text)).collect(),
            Quantity::YesNo => ["yes", "no"].map(word).into(),
            Quantity::Path => names::paths(self.here, taken.name == "from"),
            Quantity::Name if taken.name == "rule" => rules(),
            Quantity::Name => names::of(self.here, self.tree, node, taken.name),
            _ => Vec::new(),
        }
    }

    fn items(&self, offers: Vec<Offer>, span: Span) -> Vec<CompletionItem> {
        let range = self.here.range(span);
        let quoted = self.here.text.slice(span).starts_with('"');
        let item = |(number, offer): (usize, Offer)| {
            let meaning = MarkupContent { kind: MarkupKind::Markdown, value: offer.meaning };
            let bare = offer.text.trim_matches('"');
            CompletionItem {
                // What a client matches the typed letters with.
                filter_text: (offer.text.starts_with('"') && !quoted)
                    .then(|| bare.to_owned())
                    .or_else(|| quoted.then(|| offer.text.clone())),
                sort_text: Some(format!("{number:04}")),
                kind: Some(offer.kind),
                detail: (!offer.detail.is_empty()).then_some(offer.detail),
                documentation: (!meaning.value.is_empty()).then_some(Documentation::MarkupContent(meaning)),
                insert_text_format: offer.snippet.then_some(InsertTextFormat::SNIPPET),
                text_edit: Some(CompletionTextEdit::Edit(TextEdit { range, new_text: offer.text })),
                label: offer.label,
                ..CompletionItem::default()
            }
        };
        offers.into_iter().enumerate().map(item).collect()
    }
}

/// A word with places for the values that must be there.
fn snippet(word: &NodeDef) -> String {
    let mut text = word.name.to_owned();
    let mut number = 0;
    let mut place = |value: &ValueDef| {
        number += 1;
        let quotes = matches!(
            value.quantity,
            Quantity::Name | Quantity::Text | Quantity::Path | Quantity::Date | Quantity::Time
        );
        let inside = if quotes { String::new() } else { value.name.to_owned() };
        if quotes { format!("\"${{{number}:{inside}}}\"") } else { format!("${{{number}:{inside}}}") }
    };
    for arg in word.args.iter().filter(|arg| arg.required) {
        text += " ";
        text += &place(arg);
    }
    for prop in word.props.iter().filter(|prop| prop.required) {
        text += &format!(" {}={}", prop.name, place(prop));
    }
    text
}

/// The names of rules.
fn rules() -> Vec<Offer> {
    let quoted = |slug: &str| format!("{slug:?}");
    let offer = |slug: &'static str| Offer { text: quoted(slug), ..Offer::new(slug, CompletionItemKind::CONSTANT) };
    TABLE.iter().filter(|rule| rule.waivable).map(|rule| offer(rule.slug)).collect()
}
