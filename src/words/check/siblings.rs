//! What stands side by side: two of one name, and what must be among them.

use std::collections::HashMap;

use super::{Walk, key_of};
use crate::findings::{FixKind, Wording, said};
use crate::source::Span;
use crate::syntax::{NodeId, Value};
use crate::words::{FileKind, Key, LIMITS, NodeDef, OPEN, VocabularyErrorKind, VocabularyFix, vocabulary};

impl Walk<'_> {
    /// Says which children of a node (or the document) are there twice, and which that must be there are not.
    pub(super) fn siblings(
        &mut self,
        parent: Option<NodeId>,
        children: Vec<NodeId>,
        words: &HashMap<NodeId, Option<&'static NodeDef>>,
    ) {
        let mut seen: HashMap<(&str, Option<String>, Option<String>), NodeId> = HashMap::new();
        for child in &children {
            let Some(Some(word)) = words.get(child) else { continue };
            let key = match word.key {
                Key::Position => continue,
                Key::Singleton => None,
                // What lacks its name has its own slip.
                Key::FirstArgument => match key_of(self.tree, *child) {
                    // Places that are still open stand side by side.
                    Some(key) if key == OPEN => continue,
                    Some(key) => Some(key),
                    None => continue,
                },
            };
            let also = word.also_key.and_then(|prop| self.also(*child, prop));
            match seen.get(&(word.id, key.clone(), also.clone())) {
                Some(first) => self.again(*child, *first, word, key.as_deref()),
                None => drop(seen.insert((word.id, key, also), *child)),
            }
        }
        self.wanted(parent, &children, words);
    }

    /// A property's value as text, where it tells two nodes apart.
    fn also(&self, node: NodeId, prop: &str) -> Option<String> {
        let is_it = |entry: &crate::syntax::Entry<'_>| entry.key.as_ref().is_some_and(|key| key.text == prop);
        match self.tree.entries(node).find(is_it)?.value {
            Value::Text(text) => Some(text.into_owned()),
            _ => None,
        }
    }

    /// One node that says again what another said.
    fn again(&mut self, node: NodeId, first: NodeId, word: &NodeDef, key: Option<&str>) {
        let (tree, text) = (self.tree, self.tree.text());
        let (span, first_span) = (tree.header_span(node), tree.header_span(first));
        let same = text[tree.span(node).range()] == text[tree.span(first).range()];
        let message = match key {
            _ if same => said!("this `{word}` is there already, word for word", word = word.name),
            Some(key) => said!("there is another `{word} \"{key}\"` here: which one holds?", word = word.name, key),
            None => said!("there is another `{word}` here, where one can stand: which one holds?", word = word.name),
        };
        let mut fixes: Vec<VocabularyFix> = Vec::new();
        if same {
            let title = format!("take the second `{}` out", word.name);
            fixes.push(VocabularyFix::new(title, FixKind::Safe, self.whole_line(tree.span(node)), ""));
        }
        // Of a limit the stricter may stand for both; of a fact nobody knows which is so.
        if let Some(looser) = self.looser_of(first, node, word).filter(|_| !same) {
            let title = "keep the stricter, take the other out";
            fixes.push(VocabularyFix::new(title, FixKind::Suggested, self.whole_line(tree.span(looser)), ""));
        }
        self.error(VocabularyErrorKind::DuplicateName, span, message, fixes);
        if let Some(error) = self.errors.last_mut() {
            error.related.push((first_span, "the first one".to_owned()));
        }
    }

    /// Of two nodes of one limit that say nothing but its value the one that allows more.
    fn looser_of(&self, first: NodeId, second: NodeId, word: &NodeDef) -> Option<NodeId> {
        let limit = LIMITS.iter().find(|limit| limit.node == word.name && !limit.is_prop)?;
        word.below.contains(&"limits").then_some(())?;
        let value = |node: NodeId| {
            let mut entries = self.tree.entries(node);
            let (only, more) = (entries.next()?, entries.next());
            let amount = word.arg(0).filter(|_| more.is_none() && only.key.is_none())?.read(&only, self.measures);
            amount.ok()?.number()
        };
        let (one, other) = (value(first)?, value(second)?);
        match (limit.is_looser(one, other), limit.is_looser(other, one)) {
            (true, _) => Some(first),
            (_, true) => Some(second),
            _ => None,
        }
    }

    /// A node's span, widened to its line with the line break where nothing else stands on it, else to its semicolon.
    fn whole_line(&self, span: Span) -> Span {
        let text = self.tree.text();
        let before = text[..span.start as usize].trim_end_matches([' ', '\t']);
        let behind = text[span.end as usize..].trim_start_matches([' ', '\t']);
        let breaks = [behind.strip_prefix("\r\n"), behind.strip_prefix('\n')];
        match breaks.into_iter().flatten().next() {
            Some(rest) if before.is_empty() || before.ends_with('\n') => {
                Span::new(before.len() as u32, (text.len() - rest.len()) as u32)
            }
            _ => match behind.strip_prefix(';') {
                // What parts it from the next one goes with it.
                Some(rest) => Span::new(span.start, (text.len() - rest.trim_start_matches([' ', '\t']).len()) as u32),
                None => span,
            },
        }
    }

    fn wanted(
        &mut self,
        parent: Option<NodeId>,
        children: &[NodeId],
        words: &HashMap<NodeId, Option<&'static NodeDef>>,
    ) {
        let place = match parent {
            None if self.kind == FileKind::Plan => crate::words::PLAN_TOP,
            None => return,
            Some(node) => match words.get(&node) {
                Some(Some(word)) if !self.is_broken(node) => word.id,
                _ => return,
            },
        };
        for word in vocabulary().filter(|word| word.wanted && word.below.contains(&place)) {
            let is_there =
                children.iter().any(|child| matches!(words.get(child), Some(Some(other)) if other.id == word.id));
            if is_there {
                continue;
            }
            match parent {
                Some(node) => {
                    let name = self.tree.name(node);
                    let message = said!(
                        "`{word}` says nothing: it needs a `{usage}`",
                        word = name.text,
                        usage = Wording(&word.usage())
                    );
                    self.error(VocabularyErrorKind::MissingValue, name.span, message, Vec::new());
                }
                None if self.broken_at.is_empty() => {
                    let message = said!("a plan file holds a plan: `{word} \"…\" on=\"…\" {{ … }}`", word = word.name);
                    self.error(VocabularyErrorKind::MissingValue, Span::at(0), message, Vec::new());
                }
                None => {}
            }
        }
    }
}
