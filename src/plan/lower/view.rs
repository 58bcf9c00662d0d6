//! A node as the lowering sees it: as written, or merged from a plan and the templates it starts from.
//!
//! Merging is done here, before anything is read, so that each value keeps the file, the tree and the measures of
//! the text that says it.

use std::borrow::Cow;
use std::cell::OnceCell;
use std::collections::{HashMap, VecDeque};

use crate::source::{FileId, Place, Placed, Span};
use crate::syntax::{Entry, NodeId, Tree, Value};
use crate::words::{Key, Measures, NodeDef, OPEN, is_open, word_of};

/// A file as the lowering reads it.
#[derive(Debug, Clone)]
pub struct Source {
    /// The file.
    pub file: FileId,
    /// Its tree.
    pub tree: Tree,
    /// What its bare numbers mean.
    pub measures: Measures,
}

impl Source {
    /// A file and its tree; `measures imperial` at its top is heeded.
    pub fn new(file: FileId, tree: Tree) -> Source {
        let measures = Measures::of(&tree);
        Source { file, tree, measures }
    }

    /// The nodes at the top of the file.
    pub fn roots(&self) -> impl Iterator<Item = Node<'_>> {
        self.tree.roots().map(|id| Node::new(self, id))
    }

    /// A place in this file.
    pub fn place(&self, span: Span) -> Place {
        Place::new(self.file.clone(), span)
    }
}

/// One file's word for a node.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layer<'t> {
    pub source: &'t Source,
    pub id: NodeId,
}

impl<'t> Layer<'t> {
    pub(super) fn place(&self, span: Span) -> Place {
        self.source.place(span)
    }

    pub(super) fn entries(&self) -> impl Iterator<Item = Entry<'t>> + use<'t> {
        self.source.tree.entries(self.id)
    }

    fn children(&self) -> impl Iterator<Item = Node<'t>> + use<'t> {
        let source = self.source;
        source.tree.children(self.id).map(move |id| Node::new(source, id))
    }
}

/// An entry and the file that says it.
#[derive(Debug, Clone)]
pub(super) struct Said<'t> {
    pub layer: Layer<'t>,
    pub entry: Entry<'t>,
}

impl Said<'_> {
    /// Where the value stands.
    pub(super) fn place(&self) -> Place {
        self.layer.place(self.entry.value_span)
    }
}

/// A node of one file, with the nodes of templates that it overrides below it.
#[derive(Debug, Clone)]
pub struct Node<'t> {
    pub(super) top: Layer<'t>,
    /// Words that hold where `top` has none, nearest first.
    below: Vec<Layer<'t>>,
    /// What the vocabulary knows of it, once asked.
    word: OnceCell<Option<&'static NodeDef>>,
}

/// What tells a node apart from its siblings: its name, its first argument, and the property that may come with it.
type Identity<'t> = (Cow<'t, str>, Option<String>, Option<String>);

/// Words of legs: what a diver does, in order.
const LEGS: &[&str] = &[
    "descend",
    "stay",
    "ascend",
    "stop",
    "travel",
    "switch",
    "drop",
    "take",
    "set-point",
    "flush",
    "off-loop",
    "on-loop",
    "bail-out",
    "repeat",
];

/// Nodes that merge child by child; all others are replaced whole, but a diver of whom something is open.
const MERGED: &[&str] = &["plan", "site", "limits", "dive"];

impl<'t> Node<'t> {
    /// A node as its own file says it.
    pub fn new(source: &'t Source, id: NodeId) -> Node<'t> {
        Node { top: Layer { source, id }, below: Vec::new(), word: OnceCell::new() }
    }

    /// This node with another's word wherever it has none of its own.
    #[must_use]
    pub fn over(mut self, template: Node<'t>) -> Node<'t> {
        self.below.push(template.top);
        self.below.extend(template.below);
        self
    }

    /// The file that says the node, or has the last word on it.
    pub fn source(&self) -> &'t Source {
        self.top.source
    }

    /// The node in its own file's tree.
    pub fn id(&self) -> NodeId {
        self.top.id
    }

    /// What the vocabulary knows of it.
    pub fn word(&self) -> Option<&'static NodeDef> {
        *self.word.get_or_init(|| word_of(&self.top.source.tree, self.top.id))
    }

    /// The node's name.
    pub fn name(&self) -> Cow<'t, str> {
        self.top.source.tree.name(self.top.id).text
    }

    /// Where its header stands.
    pub fn header(&self) -> Place {
        self.top.place(self.top.source.tree.header_span(self.top.id))
    }

    /// Where all of it stands.
    pub fn whole(&self) -> Place {
        self.top.place(self.top.source.tree.span(self.top.id))
    }

    /// Whether this file, or a template, says the node is a leg.
    pub fn is_leg(&self) -> bool {
        LEGS.contains(&&*self.name())
    }

    /// The argument at an index, from the topmost file that has arguments.
    pub(super) fn arg(&self, index: usize) -> Option<Said<'t>> {
        self.layers().find_map(|layer| {
            let mut args = layer.entries().filter(|entry| entry.key.is_none());
            args.nth(index).map(|entry| Said { layer, entry })
        })
    }

    /// The arguments, each from the topmost file that has one at its index, in order.
    pub(super) fn args(&self) -> Vec<Said<'t>> {
        let mut said: Vec<Said<'t>> = Vec::new();
        for layer in self.layers() {
            let args = layer.entries().filter(|entry| entry.key.is_none());
            let more: Vec<Said<'t>> = args.skip(said.len()).map(|entry| Said { layer, entry }).collect();
            said.extend(more);
        }
        said
    }

    /// A property, from the topmost file that has it; of two in one file the last holds, as KDL says.
    pub(super) fn prop(&self, key: &str) -> Option<Said<'t>> {
        self.layers().find_map(|layer| {
            let named = layer.entries().filter(|entry| entry.key.as_ref().is_some_and(|word| word.text == key));
            named.last().map(|entry| Said { layer, entry })
        })
    }

    /// The properties, each from the topmost file that has it, in order.
    pub(super) fn props(&self) -> Vec<Said<'t>> {
        let mut said: Vec<Said<'t>> = Vec::new();
        for layer in self.layers() {
            let known = said.len();
            for entry in layer.entries() {
                let Some(key) = &entry.key else { continue };
                let before = said.iter().take(known);
                if !before.filter_map(|said| said.entry.key.as_ref()).any(|other| other.text == key.text) {
                    said.push(Said { layer, entry });
                }
            }
        }
        said
    }

    /// How many properties its own file gives it.
    pub(super) fn prop_count(&self) -> usize {
        self.props().len()
    }

    fn layers(&self) -> impl Iterator<Item = Layer<'t>> {
        std::iter::once(self.top).chain(self.below.iter().copied())
    }

    /// The first argument as a name.
    pub fn key_name(&self) -> Option<Placed<String>> {
        let said = self.arg(0)?;
        match &said.entry.value {
            Value::Text(text) => Some(Placed::new(text.clone().into_owned(), said.place())),
            // A name that happens to be a number, unquoted, is still the name that was meant.
            Value::Integer(number) => Some(Placed::new(number.to_string(), said.place())),
            _ => None,
        }
    }

    /// Children with a name, merged.
    pub fn named<'n>(&'n self, name: &'n str) -> impl Iterator<Item = Node<'t>> + 'n {
        self.children().into_iter().filter(move |child| child.name() == name)
    }

    /// The last child with a name: of two singletons the last one holds.
    pub fn child(&self, name: &str) -> Option<Node<'t>> {
        self.named(name).last()
    }

    /// The children, merged with the templates'.
    pub fn children(&self) -> Vec<Node<'t>> {
        let mut merged: Vec<Node<'t>> = Vec::new();
        // From the farthest template up, so that the order is the template's and the plan's additions come last.
        let layers: Vec<Layer<'t>> = self.layers().collect();
        for layer in layers.into_iter().rev() {
            let own: Vec<Node<'t>> = layer.children().collect();
            merge_into(&mut merged, own);
        }
        merged
    }

    /// What tells the node apart from its siblings, if its position doesn't.
    fn identity(&self) -> Option<Identity<'t>> {
        let word = self.word()?;
        let also = word.also_key.and_then(|key| self.text(key)).map(|also| also.value);
        match word.key {
            Key::Singleton => Some((self.name(), None, also)),
            Key::FirstArgument if self.is_open() => None,
            Key::FirstArgument => Some((self.name(), self.key_name().map(|key| key.value), also)),
            Key::Position => None,
        }
    }

    /// Whether its name is still to be answered: `diver "?"`.
    pub fn is_open(&self) -> bool {
        self.key_name().is_some_and(|name| name.value == OPEN)
    }

    /// Whether something of it, or below it, is still to be answered: a place that a plan fills, whoever it is for.
    fn has_gap(&self) -> bool {
        self.is_open()
            || self.props().iter().any(|said| is_open(&said.entry.value))
            || self.children().iter().any(Node::has_gap)
    }

    /// Whether a plan's node and its template's describe one thing whose children merge.
    fn merges_with(&self, template: &Node<'t>) -> bool {
        let name = self.name();
        if template.name() != name {
            return false;
        }
        if name == "diver" {
            return template.has_gap();
        }
        if !MERGED.contains(&&*name) {
            return false;
        }
        match (self.key_name(), template.key_name()) {
            // Another place's water and altitude must not leak into this one's.
            (Some(own), Some(other)) => own.value == other.value,
            _ => true,
        }
    }
}

/// Lays one file's children over those of the templates below it.
fn merge_into<'t>(merged: &mut Vec<Node<'t>>, own: Vec<Node<'t>>) {
    if merged.is_empty() {
        merged.extend(own);
        return;
    }
    if own.iter().any(Node::is_leg) {
        merged.retain(|node| !node.is_leg());
    }
    let mut templates: HashMap<Identity<'t>, usize> = HashMap::new();
    for (at, node) in merged.iter().enumerate() {
        if let Some(identity) = node.identity() {
            templates.entry(identity).or_insert(at);
        }
    }
    // Places that the templates leave open, in order: whoever is not named there takes the next.
    let open = |(at, node): (usize, &Node<'t>)| (node.name() == "diver" && node.is_open()).then_some(at);
    let mut open: VecDeque<usize> = merged.iter().enumerate().filter_map(open).collect();
    let mut intervals = Intervals::default();
    for node in own {
        if node.name() == "interval" {
            intervals.see_interval(node);
            continue;
        }
        if node.name() == "dive" {
            intervals.see_dive(&node);
        }
        let known = node.identity().is_some_and(|identity| templates.contains_key(&identity));
        if node.name() == "diver"
            && !known
            && let Some(place) = open.pop_front().and_then(|at| merged.get_mut(at))
        {
            *place = node.over(place.clone());
            continue;
        }
        // What the file itself already said stays beside it: two of one name in one file are for a rule to tell.
        match node.identity().and_then(|identity| templates.remove(&identity)).and_then(|at| merged.get_mut(at)) {
            Some(template) if node.merges_with(template) => *template = node.over(template.clone()),
            Some(template) => *template = node,
            None => merged.push(node),
        }
    }
    intervals.put(merged);
}

/// The surface intervals of one file, by the dives that they stand between there.
#[derive(Default)]
struct Intervals<'t> {
    last_dive: Option<String>,
    /// The interval above the next dive.
    open: Option<Node<'t>>,
    before: HashMap<String, Node<'t>>,
    after: HashMap<String, Node<'t>>,
    /// Those of a file that has no dives.
    loose: VecDeque<Node<'t>>,
}

impl<'t> Intervals<'t> {
    fn see_dive(&mut self, dive: &Node<'t>) {
        self.last_dive = dive.key_name().map(|name| name.value);
        if let (Some(name), Some(interval)) = (&self.last_dive, self.open.take()) {
            self.before.insert(name.clone(), interval);
        }
    }

    fn see_interval(&mut self, node: Node<'t>) {
        self.close();
        self.open = Some(node);
    }

    /// Ends the interval that no dive has followed.
    fn close(&mut self) {
        if let Some(interval) = self.open.take() {
            match &self.last_dive {
                Some(dive) => drop(self.after.insert(dive.clone(), interval)),
                None => self.loose.push_back(interval),
            }
        }
    }

    /// Puts each where it stands between dives of the merged plan: before the dive that it is followed by in its own
    /// file, else behind the one it follows; in a file without dives, in the place of the template's next.
    fn put(mut self, merged: &mut Vec<Node<'t>>) {
        self.close();
        let mut last_dive: Option<String> = None;
        let mut template: Option<Node<'t>> = None;
        for node in std::mem::take(merged) {
            match &*node.name() {
                "interval" => template = Some(self.loose.pop_front().unwrap_or(node)),
                "dive" => {
                    let name = node.key_name().map(|name| name.value);
                    let before = name.as_ref().and_then(|name| self.before.remove(name));
                    let after = last_dive.as_ref().and_then(|name| self.after.remove(name));
                    merged.extend(before.or(after).or(template.take()));
                    merged.push(node);
                    (last_dive, template) = (name, None);
                }
                _ => merged.push(node),
            }
        }
        let after = last_dive.and_then(|name| self.after.remove(&name));
        merged.extend(after.or(template));
        merged.extend(self.loose);
    }
}
