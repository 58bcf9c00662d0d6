//! What may be written at a place: words that fit there, values that a word takes, names of what is in sight, and what a
//! plan still leaves open.

mod gaps;
mod names;
mod reach;

use std::collections::BTreeSet;

use tower_lsp::ls_types::{
    CompletionItem, CompletionItemKind, CompletionTextEdit, Documentation, InsertTextFormat, MarkupContent, MarkupKind,
    Position, TextEdit,
};

use self::reach::{Form, Reach};
use crate::rules::TABLE;
use crate::server::documents::Here;
use crate::server::place;
use crate::source::Span;
use crate::syntax::{EntryId, NodeId, Part, Tree};
use crate::words::{Measures, NodeDef, Quantity, ValueDef, word_of, words_below};

/// What may be written at a position; nothing in a comment. `typed` is the sign for which the client asks by itself.
pub(crate) fn of(here: &Here<'_>, at: Position, typed: Option<&str>) -> Vec<CompletionItem> {
    let Some(tree) = here.archive.tree(&here.file) else { return Vec::new() };
    let asked = Asked { here, tree: &tree, offset: place::offset(&here.text, at, here.abilities().encoding) };
    let before = here.text.as_str().get(..asked.offset as usize).unwrap_or_default();
    let line = before.rsplit(['\n', '\r']).next().unwrap_or_default();
    // Who indents a line asks for nothing.
    if typed == Some(" ") && line.trim().is_empty() {
        return Vec::new();
    }
    let at = tree.at(asked.offset);
    if at.part != Part::Comment {
        if let Some(opened) = line.rfind('(').filter(|at| line.get(at + 1..).is_some_and(is_of_unit)) {
            // Nothing is read behind a parenthesis that is not closed: the word is that before it.
            let start = asked.offset - u32::try_from(line.len() - opened).unwrap_or(0);
            return tree.at(start).node.map(|node| asked.units_at(node, line, opened)).unwrap_or_default();
        }
        if let Some((node, entry)) =
            at.node.and_then(|node| Some((node, reach::key_without_value(&tree, node, asked.offset)?)))
        {
            return asked.value(node, entry, Reach::over(Span::at(asked.offset)));
        }
    }
    match (at.part, at.node) {
        (Part::Block, parent) => asked.words(parent, Span::at(asked.offset)),
        (Part::Name, Some(node)) => asked.words(tree.parent(node), at.span),
        (Part::Header, Some(node)) => asked.in_header(node),
        // What is written at the first byte of a property stands before it.
        (Part::Key(_), Some(node)) if asked.offset == at.span.start => asked.in_header(node),
        (Part::Key(entry), Some(node)) => {
            // The key with its `=`, so that none is left behind.
            let end = tree.entry(entry).value_span.start;
            asked.props(node, Reach::over(Span::new(at.span.start, end)), Some(entry))
        }
        (Part::Value(entry), Some(node)) => {
            asked.value(node, entry, Reach::of_value(here.text.as_str(), at.span, asked.offset))
        }
        _ => Vec::new(),
    }
}

/// Whether that may be the beginning of a unit's name.
fn is_of_unit(text: &str) -> bool {
    text.chars().all(|c| c.is_alphanumeric() || matches!(c, '/' | '-' | '³'))
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
        self.items(offers, Reach::over(span))
    }

    /// Behind a node's name or a value of it: the next value, and properties.
    fn in_header(&self, node: NodeId) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let given = || self.tree.entries(node).filter(|entry| entry.key.is_none());
        let before = given().take_while(|entry| entry.span.start < self.offset).count();
        let reach = Reach::at(self.here.text.as_str(), self.offset);
        let mut items = Vec::new();
        // A value put before another one would make another of that.
        if let Some(arg) = word.arg(before).filter(|_| before == given().count()) {
            items.extend(self.items(self.values(node, arg), reach));
        }
        items.extend(self.props(node, reach, None));
        items
    }

    /// Properties that a node doesn't have yet.
    fn props(&self, node: NodeId, reach: Reach, but: Option<EntryId>) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let others = self.tree.entries(node).filter(|entry| Some(entry.id) != but);
        let there: BTreeSet<String> = others.filter_map(|entry| Some(entry.key?.text.to_string())).collect();
        let free = word.props.iter().filter(|prop| !there.contains(prop.name));
        // Without a value it would take what stands behind it for one.
        let is_last = but.is_some() || !reach::is_followed(self.tree, node, self.offset);
        let value = match (is_last, self.here.abilities().snippets) {
            (true, _) => "",
            (false, true) => "\"$1\"",
            (false, false) => "\"\"",
        };
        let offers = free.map(|prop| Offer {
            text: format!("{}={value}", prop.name),
            snippet: value.contains('$'),
            meaning: prop.hover(Measures::of(self.tree)),
            detail: if prop.required { "must be there".to_owned() } else { String::new() },
            ..Offer::new(prop.name, CompletionItemKind::PROPERTY)
        });
        self.items(offers.collect(), reach)
    }

    /// A value that is being written. A bare word that no `=` follows may become a property.
    fn value(&self, node: NodeId, entry: EntryId, reach: Reach) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let key = self.tree.entry(entry).key;
        let taken = match &key {
            Some(key) => word.prop(&key.text),
            None => {
                let before = self.tree.entries(node).take_while(|other| other.id != entry);
                word.arg(before.filter(|other| other.key.is_none()).count())
            }
        };
        let mut items = taken.map(|taken| self.items(self.values(node, taken), reach)).unwrap_or_default();
        let quoted = reach.form != Form::Bare || self.here.text.slice(reach.span).starts_with(['"', '#']);
        if key.is_none() && !quoted {
            items.extend(self.props(node, reach, Some(entry)));
        }
        items
    }

    /// The units that a number may be written in whose parenthesis opens at a byte of the line up to the cursor.
    fn units_at(&self, node: NodeId, line: &str, opened: usize) -> Vec<CompletionItem> {
        let Some(word) = word_of(self.tree, node) else { return Vec::new() };
        let before = line.get(..opened).unwrap_or_default();
        let start = self.offset - u32::try_from(line.len() - opened).unwrap_or(0);
        let key = before.strip_suffix('=').and_then(|before| before.rsplit(char::is_whitespace).next());
        let taken = match key {
            Some(key) => word.prop(key),
            None => {
                let args = self.tree.entries(node).filter(|entry| entry.key.is_none());
                word.arg(args.take_while(|entry| entry.span.start < start).count())
            }
        };
        let units = taken.map(|taken| taken.quantity.units()).unwrap_or_default();
        let behind = self.here.text.as_str().get(self.offset as usize..).unwrap_or_default();
        let rest = behind.find(|c: char| !is_of_unit(&c.to_string())).unwrap_or(behind.len());
        let closed = behind.get(rest..).is_some_and(|behind| behind.starts_with(')'));
        // Up to its own end where it is closed, else what is typed so far alone.
        let end = if closed { self.offset + rest as u32 + 1 } else { self.offset };
        let offer = |unit: &crate::words::Unit| Offer {
            text: format!("{})", unit.name),
            ..Offer::new(unit.name, CompletionItemKind::UNIT)
        };
        self.items(units.iter().map(offer).collect(), Reach::over(Span::new(start + 1, end)))
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

    fn items(&self, offers: Vec<Offer>, reach: Reach) -> Vec<CompletionItem> {
        let range = self.here.range(reach.span);
        let quoted = self.here.text.slice(reach.span).starts_with('"');
        let item = |(number, offer): (usize, Offer)| {
            let meaning = MarkupContent { kind: MarkupKind::Markdown, value: offer.meaning };
            let bare = if offer.snippet { &*offer.label } else { offer.text.trim_matches('"') };
            CompletionItem {
                // What a client matches the typed letters with.
                filter_text: Some(if quoted { offer.text.clone() } else { bare.to_owned() }),
                sort_text: Some(format!("{number:04}")),
                kind: Some(offer.kind),
                detail: (!offer.detail.is_empty()).then_some(offer.detail),
                documentation: (!meaning.value.is_empty()).then_some(Documentation::MarkupContent(meaning)),
                insert_text_format: offer.snippet.then_some(InsertTextFormat::SNIPPET),
                text_edit: Some(CompletionTextEdit::Edit(TextEdit { range, new_text: reach.written(&offer.text) })),
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
