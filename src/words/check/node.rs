//! One node's values against its word.

use std::collections::{HashMap, HashSet};

use super::{MOST, Walk};
use crate::findings::{FixKind, Wording, said};
use crate::source::Span;
use crate::syntax::{Entry, NodeId, Value};
use crate::words::prose::list;
use crate::words::{
    Amount, Either, LIMITS, NodeDef, Quantity, ValueDef, VocabularyErrorKind, VocabularyFix, near, vocabulary, words_of,
};

/// What a node's header says, whatever the values.
struct Said<'e> {
    /// How many arguments.
    args: usize,
    /// The names of its properties.
    keys: HashSet<&'e str>,
}

impl Said<'_> {
    /// Whether an argument or property of a word is there.
    fn has(&self, word: &NodeDef, name: &str) -> bool {
        self.keys.contains(name) || word.args.iter().position(|arg| arg.name == name).is_some_and(|at| at < self.args)
    }
}

impl Walk<'_> {
    /// Says what doesn't fit in a node's header.
    pub(super) fn node(&mut self, node: NodeId, word: &'static NodeDef) {
        if let Some(annotation) = self.tree.annotation(node) {
            let message = said!("`({unit})` says nothing on a word: units stand before values", unit = annotation.text);
            let fix = VocabularyFix::new("take the annotation out", FixKind::Safe, annotation.span, "");
            self.error(VocabularyErrorKind::UnitMismatch, annotation.span, message, vec![fix]);
        }
        let entries: Vec<Entry<'_>> = self.tree.entries(node).collect();
        let said = Said {
            args: entries.iter().filter(|entry| entry.key.is_none()).count(),
            keys: entries.iter().filter_map(|entry| entry.key.as_ref()).map(|key| key.text.as_ref()).collect(),
        };
        let mut args = 0;
        let mut earlier: HashMap<&str, &Entry<'_>> = HashMap::new();
        let mut before: Option<(&Entry<'_>, &ValueDef)> = None;
        for entry in &entries {
            if self.errors.len() >= MOST {
                return;
            }
            match &entry.key {
                None => {
                    match word.arg(args) {
                        Some(arg) => self.value(word, arg, entry),
                        None if self.unit_behind(before, entry) => {}
                        None => self.too_many(word, entry, &said),
                    }
                    before = word.arg(args).map(|arg| (entry, arg));
                    args += 1;
                }
                Some(key) => match word.prop(&key.text) {
                    Some(prop) => {
                        match earlier.insert(prop.name, entry) {
                            Some(earlier) => self.twice(word, prop, earlier, entry),
                            None => self.value(word, prop, entry),
                        }
                        before = Some((entry, prop));
                    }
                    None => self.unknown_prop(word, entry, &said),
                },
            }
        }
        if !self.is_broken(node) {
            self.missing(node, word, &entries, &said);
        }
    }

    /// A unit behind its number, `20 min`, where the language has it before. Says whether it was one.
    fn unit_behind(&mut self, before: Option<(&Entry<'_>, &ValueDef)>, entry: &Entry<'_>) -> bool {
        let (Some((number, word)), Value::Text(name)) = (before, &entry.value) else { return false };
        let is_bare_number = matches!(number.value, Value::Integer(_) | Value::Float(_)) && number.annotation.is_none();
        let unit = word.quantity.unit(name).or_else(|| word.quantity.unit_meant(name));
        let (true, Some(unit)) = (is_bare_number, unit) else { return false };
        let right = format!("({}){}", unit.name, &self.tree.text()[number.value_span.range()]);
        let message = said!("a unit is written before its number: {right}", right);
        let fix = VocabularyFix::write(Span::new(number.value_span.start, entry.span.end), &right, FixKind::Safe);
        self.error(VocabularyErrorKind::UnitMismatch, entry.span, message, vec![fix]);
        true
    }

    fn too_many(&mut self, word: &'static NodeDef, entry: &Entry<'_>, said: &Said<'_>) {
        let written = &self.tree.text()[entry.span.range()];
        let takes = match word.args {
            [] => said!("takes no value"),
            [one] => said!("takes one value, {takes}", takes = Wording(one.name)),
            many => said!(
                "takes {count} values, {takes}",
                count = many.len(),
                takes = Wording(&list(many.iter().map(|arg| arg.name.to_owned()), "and"))
            ),
        };
        let mut message = said!("`{word}` {takes}; {written} is one too many", word = word.name, takes, written);
        // A word or a date that one property alone could take was meant for it.
        let free = |prop: &&ValueDef| {
            matches!(prop.quantity, Quantity::OneOf(_) | Quantity::Date | Quantity::Time)
                && !said.keys.contains(prop.name)
                && prop.read(entry, self.measures).is_ok()
        };
        let mut fitting = word.props.iter().filter(free);
        let mut fixes = Vec::new();
        if let (Some(prop), None) = (fitting.next(), fitting.next()) {
            message += said!(": did you mean `{meant}=`?", meant = Wording(prop.name));
            fixes.push(VocabularyFix::write(entry.span, &format!("{}={written}", prop.name), FixKind::Suggested));
        } else if !word.props.is_empty() {
            let props = list(word.props.iter().map(|prop| format!("`{}=`", prop.name)), "and");
            message += said!("; what else it takes is named: {props}", props = Wording(&props));
        }
        self.error(VocabularyErrorKind::Misplaced, entry.span, message, fixes);
    }

    fn unknown_prop(&mut self, word: &'static NodeDef, entry: &Entry<'_>, said: &Said<'_>) {
        let Some(key) = &entry.key else { return };
        let written = &self.tree.text()[entry.value_span.range()];
        if word.args.iter().any(|arg| arg.name == key.text) && said.args == 0 {
            let message = said!(
                "`{word}` takes its {property} without a name: `{again} {written}`",
                word = word.name,
                property = key.text,
                again = Wording(word.name),
                written
            );
            let name = Span::new(key.span.start, entry.annotation.as_ref().map_or(entry.value_span, |a| a.span).start);
            let title = format!("write `{written}`");
            let fix = VocabularyFix::new(title, FixKind::Safe, name, "");
            return self.error(VocabularyErrorKind::Misplaced, key.span, message, vec![fix]);
        }
        if let Some(child) = words_of(word).find(|child| child.name == key.text && child.id != "allow") {
            let message = said!(
                "`{property}` is a line of its own in the braces of `{word}`: `{usage}`",
                property = child.name,
                word = word.name,
                usage = Wording(&child.usage())
            );
            return self.error(VocabularyErrorKind::Misplaced, key.span, message, Vec::new());
        }
        let free = || word.props.iter().filter(|prop| !said.keys.contains(prop.name));
        if let Some(meant) = near::nearest(&key.text, free().map(|prop| prop.name)) {
            let message = said!(
                "`{property}=` is no property of `{word}`: did you mean `{meant}=`?",
                property = key.text,
                word = word.name,
                meant = Wording(meant)
            );
            let fixes = vec![VocabularyFix::write(key.span, meant, near::kind(&key.text, meant))];
            return self.error(VocabularyErrorKind::UnknownWord, key.span, message, fixes);
        }
        // What may stand beside this word is meant sooner than a word of another place.
        let beside = |other: &&NodeDef| other.below.iter().any(|place| word.below.contains(place));
        let having = || vocabulary().filter(|other| other.prop(&key.text).is_some());
        let near = having().any(|other| beside(&other));
        let mut owners: Vec<String> = Vec::new();
        for owner in having().filter(|other| !near || beside(other)) {
            let owner = format!("`{}`", owner.name);
            if !owners.contains(&owner) {
                owners.push(owner);
            }
        }
        let own = match word.props {
            [] => said!("`{owner}` has no properties", owner = Wording(word.name)),
            props => {
                let props = list(props.iter().map(|prop| format!("`{}=`", prop.name)), "and");
                said!("`{owner}` has {props}", owner = Wording(word.name), props = Wording(&props))
            }
        };
        let (kind, message) = match owners.is_empty() {
            true => (
                VocabularyErrorKind::UnknownWord,
                said!("`{property}=` is no property of the plan language; {own}", property = key.text, own),
            ),
            false => (
                VocabularyErrorKind::Misplaced,
                said!(
                    "`{property}=` is no property of `{word}`: it belongs to {owners}; {own}",
                    property = key.text,
                    word = word.name,
                    owners = Wording(&list(owners.into_iter(), "or")),
                    own
                ),
            ),
        };
        self.error(kind, key.span, message, Vec::new());
    }

    /// One property said twice.
    fn twice(&mut self, word: &NodeDef, prop: &ValueDef, earlier: &Entry<'_>, entry: &Entry<'_>) {
        let text = self.tree.text();
        let (first, second) = (&text[earlier.value_span.range()], &text[entry.value_span.range()]);
        let same = (&earlier.value, &earlier.annotation.as_ref().map(|a| &a.text))
            == (&entry.value, &entry.annotation.as_ref().map(|a| &a.text));
        let take_out = |entry: &Entry<'_>, kind| -> VocabularyFix {
            let before = text[..entry.span.start as usize].trim_end_matches([' ', '\t']).len() as u32;
            let title = format!("take `{}` out", &text[entry.span.range()]);
            VocabularyFix::new(title, kind, Span::new(before, entry.span.end), "")
        };
        let (message, fixes) = if same {
            let message = said!("`{property}=` is said twice, both times {second}", property = prop.name, second);
            (message, vec![take_out(entry, FixKind::Safe)])
        } else {
            let message = said!(
                "`{property}=` is said twice, {first} and {second}: which one holds?",
                property = prop.name,
                first,
                second
            );
            // Which of two measured figures is true is for who measured them to say.
            let may = !word.fact || prop.asked;
            let both = [take_out(earlier, FixKind::Suggested), take_out(entry, FixKind::Suggested)];
            // Of a limit the stricter may stand for both.
            let limit =
                LIMITS.iter().find(|limit| limit.is_prop && limit.node == word.name && limit.value.name == prop.name);
            let number = |entry: &Entry<'_>| prop.read(entry, self.measures).ok().and_then(|amount| amount.number());
            let looser = limit.filter(|_| word.below.contains(&"limits")).and_then(|limit| {
                let (one, other) = (number(earlier)?, number(entry)?);
                let of_one = limit.is_looser(one, other).then_some(0);
                of_one.or_else(|| limit.is_looser(other, one).then_some(1))
            });
            let fixes = match looser {
                Some(at) => both.into_iter().skip(at).take(1).collect(),
                None if may => both.into(),
                None => Vec::new(),
            };
            (message, fixes)
        };
        self.error(VocabularyErrorKind::DuplicateProperty, entry.span, message, fixes);
        if let Some(error) = self.errors.last_mut() {
            error.related.push((earlier.span, "said here first".to_owned()));
        }
    }

    /// Says which values must be there and aren't.
    fn missing(&mut self, node: NodeId, word: &'static NodeDef, entries: &[Entry<'_>], said: &Said<'_>) {
        let is_template = || {
            let status = entries.iter().find(|entry| is_prop(entry, "status"));
            status.is_some_and(|entry| matches!(&entry.value, Value::Text(text) if text == "template"))
        };
        let at = self.tree.name(node).span;
        let unknown: Vec<&str> = said.keys.iter().filter(|key| word.prop(key).is_none()).copied().collect();
        let values = word.args.iter().map(|arg| (arg, false)).chain(word.props.iter().map(|prop| (prop, true)));
        for (value, named) in values.filter(|(value, _)| value.required && !said.has(word, value.name)) {
            // A template may leave out what only the day can tell.
            if word.id == "plan" && value.name == "on" && is_template() {
                continue;
            }
            // What stands under a near name has its own slip.
            if named && unknown.iter().any(|key| near::nearest(key, [value.name]).is_some()) {
                continue;
            }
            // So has what stands on a line of its own.
            if named && self.tree.children(node).any(|child| self.tree.name(child).text == value.name) {
                continue;
            }
            let what = if named { format!("`{}=`", value.name) } else { format!("its {}", value.name) };
            let message = match value.quantity {
                Quantity::Name => said!("`{word}` needs {what}", word = word.name, what),
                quantity => said!(
                    "`{word}` needs {what}: {takes}",
                    word = word.name,
                    takes = Wording(&quantity.takes(self.measures)),
                    what
                ),
            };
            self.error(VocabularyErrorKind::MissingValue, at, message, Vec::new());
        }
        match word.either {
            Some(Either::AtLeast(names)) if !names.iter().any(|name| said.has(word, name)) && unknown.is_empty() => {
                let names = list(names.iter().map(|name| format!("`{name}=`")), "or");
                let message = said!("`{word}` says nothing: it needs at least one of {names}", word = word.name, names);
                self.error(VocabularyErrorKind::MissingValue, at, message, Vec::new());
            }
            Some(Either::Just(names)) => self.just_one(word, at, names, entries, said),
            _ => {}
        }
        self.size_wants_working(word, at, entries);
        self.ordered(word, entries);
    }

    fn just_one(&mut self, word: &NodeDef, at: Span, names: &[&'static str], entries: &[Entry<'_>], said: &Said<'_>) {
        let shown = |name: &&'static str| match word.prop(name) {
            Some(_) => format!("`{name}=`"),
            None => format!("its {name}"),
        };
        let there: Vec<_> = names.iter().filter(|name| said.has(word, name)).collect();
        match there.as_slice() {
            [] => {
                let message = said!(
                    "`{word}` needs {needs}",
                    word = word.name,
                    needs = Wording(&list(names.iter().map(shown), "or"))
                );
                self.error(VocabularyErrorKind::MissingValue, at, message, Vec::new());
            }
            [_one] => {}
            several => {
                let both = list(several.iter().map(|name| shown(name)), "and");
                let last = several.last().and_then(|name| entries.iter().find(|entry| is_prop(entry, name)));
                let message = said!("`{word}` can't have {both} at once: leave one out", word = word.name, both);
                self.error(VocabularyErrorKind::Misplaced, last.map_or(at, |entry| entry.span), message, Vec::new());
            }
        }
    }

    /// Two values that must not be the wrong way round.
    fn ordered(&mut self, word: &NodeDef, entries: &[Entry<'_>]) {
        let Some((low, high)) = word.order else { return };
        let find = |name| entries.iter().find(|entry| is_prop(entry, name));
        let (Some(low_entry), Some(high_entry)) = (find(low), find(high)) else { return };
        let read = |entry: &Entry<'_>, name| word.prop(name)?.read(entry, self.measures).ok()?.number();
        let (Some(low_number), Some(high_number)) = (read(low_entry, low), read(high_entry, high)) else { return };
        if low_number > high_number {
            let text = |entry: &Entry<'_>| &self.tree.text()[entry.span.range()];
            let message = said!(
                "`{word}` is the wrong way round: `{low}` is more than `{high}`",
                word = word.name,
                low = text(low_entry),
                high = text(high_entry)
            );
            self.error(VocabularyErrorKind::OutOfRange, high_entry.value_span, message, Vec::new());
        }
    }

    /// A size given as free gas is of a cylinder at its working pressure.
    fn size_wants_working(&mut self, word: &NodeDef, at: Span, entries: &[Entry<'_>]) {
        let (Some(size), Some(_)) = (word.prop("size"), word.prop("working")) else { return };
        let has_working = entries.iter().any(|entry| is_prop(entry, "working"));
        let said = entries.iter().find(|entry| is_prop(entry, "size"));
        if let (false, Some(said)) = (has_working, said)
            && let Ok(Amount::FreeGas(_)) = size.read(said, self.measures)
        {
            let message = said!(
                "`{word}` needs `working=`: a size in cubic feet is the gas that the cylinder holds at its working pressure",
                word = word.name
            );
            self.error(VocabularyErrorKind::MissingValue, at, message, Vec::new());
        }
    }
}

/// Whether an entry is the property of a name.
fn is_prop(entry: &Entry<'_>, name: &str) -> bool {
    entry.key.as_ref().is_some_and(|key| key.text == name)
}
