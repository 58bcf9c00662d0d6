//! Where what is offered goes: over the token that is being typed, and over nothing else that stands there.

use crate::source::Span;
use crate::syntax::{EntryId, NodeId, Tree};

/// Where an offer goes, and what stands around it there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Reach {
    /// What it takes the place of.
    pub span: Span,
    /// What is there already.
    pub form: Form,
}

/// What is there already of what is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// Nothing: all of it is written.
    Bare,
    /// Its quotes, between which it goes.
    Between,
    /// Its first quote.
    Opened,
    /// Nothing, and what stands behind it is parted from it.
    Before,
}

impl Reach {
    /// Over a span as it is.
    pub(super) fn over(span: Span) -> Reach {
        Reach { span, form: Form::Bare }
    }

    /// At a place between others of a line.
    pub(super) fn at(text: &str, offset: u32) -> Reach {
        let behind = text.get(offset as usize..).unwrap_or_default();
        let next = behind.chars().next().is_none_or(char::is_whitespace);
        let form = if next || behind.starts_with([';', '}', ')']) { Form::Bare } else { Form::Before };
        Reach { span: Span::at(offset), form }
    }

    /// Over the value that is being written at a place.
    pub(super) fn of_value(text: &str, value: Span, offset: u32) -> Reach {
        if offset < value.start || value.end < offset {
            return Reach::at(text, offset);
        }
        let written = text.get(value.range()).unwrap_or_default();
        if !written.starts_with('"') || written.starts_with("\"\"\"") || offset == value.start {
            return Reach::over(value);
        }
        let inside = value.start + 1;
        let is_closed = written.len() > 1 && written.ends_with('"') && offset < value.end;
        let rest = text.get(offset as usize..value.end as usize).unwrap_or_default();
        if is_closed && !opens_another(rest) {
            return Reach { span: Span::new(inside, value.end - 1), form: Form::Between };
        }
        // The quotes end where somebody is still writing between them; behind that stands what others have written.
        let end = if offset == value.end && is_whole(written) { return Reach::over(value) } else { offset };
        Reach { span: Span::new(inside, end), form: Form::Opened }
    }

    /// What is written of an offer.
    pub(super) fn written(self, offered: &str) -> String {
        let inside = offered.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
        match self.form {
            Form::Bare => offered.to_owned(),
            Form::Between => inside.unwrap_or(offered).to_owned(),
            Form::Opened => format!("{}\"", inside.unwrap_or(offered)),
            Form::Before => format!("{offered} "),
        }
    }
}

/// Whether a quoted string has both its quotes.
fn is_whole(written: &str) -> bool {
    written.len() > 1 && written.ends_with('"')
}

/// Whether what stands up to a string's end is another property, whose first quote was taken for this string's last.
fn opens_another(rest: &str) -> bool {
    let Some(before) = rest.strip_suffix('"').and_then(|rest| rest.strip_suffix('=')) else { return false };
    let key = before.rsplit(char::is_whitespace).next().unwrap_or_default();
    !key.is_empty() && key.len() < before.len() && key.chars().all(|c| c.is_alphanumeric() || c == '-')
}

/// The key of the property whose value is still to be written at a place: right behind its `=`, where no value is.
pub(super) fn key_without_value(tree: &Tree, node: NodeId, offset: u32) -> Option<EntryId> {
    let text = tree.text();
    let (before, behind) = text.split_at_checked(offset as usize)?;
    let before = before.strip_suffix('=')?;
    behind.chars().next().is_none_or(|next| next.is_whitespace() || next == ';' || next == '}').then_some(())?;
    let end = u32::try_from(before.len()).ok()?;
    let is_it = |key: Span| key.end == end;
    tree.entries(node).find(|entry| entry.key.as_ref().is_some_and(|key| is_it(key.span))).map(|entry| entry.id)
}

/// Whether an entry of a node begins in the same line behind a place.
pub(super) fn is_followed(tree: &Tree, node: NodeId, offset: u32) -> bool {
    let text = tree.text();
    let starts = tree.entries(node).map(|entry| entry.span.start).find(|start| *start >= offset);
    starts.is_some_and(|start| !text.get(offset as usize..start as usize).is_none_or(|between| between.contains('\n')))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The reach of a value that is written at the bar, and what taking "S12" makes of the line.
    fn taken(line: &str) -> String {
        let offset = line.find('|').unwrap_or_default() as u32;
        let text = line.replacen('|', "", 1);
        let tree = Tree::parse(&text);
        let value = tree.roots().next().and_then(|node| {
            let mut entries = tree.entries(node);
            entries.find(|entry| entry.value_span.start <= offset && offset <= entry.value_span.end)
        });
        let reach = value.map_or(Reach::at(&text, offset), |value| Reach::of_value(&text, value.value_span, offset));
        let mut made = text.clone();
        made.replace_range(reach.span.range(), &reach.written("\"S12\""));
        made
    }

    #[test]
    fn what_others_have_written_stays() {
        for (line, made) in [
            ("a b=\"|\" c=\"d\"", "a b=\"S12\" c=\"d\""),
            ("a b=\"S|9\" c=\"d\"", "a b=\"S12\" c=\"d\""),
            ("a b=\"S| c=\"d\"", "a b=\"S12\" c=\"d\""),
            ("a b=\"S|", "a b=\"S12\""),
            ("a b=\"S9\"|", "a b=\"S12\""),
            ("a b=S|9", "a b=\"S12\""),
            ("a \"x\" |c=1", "a \"x\" \"S12\" c=1"),
        ] {
            assert_eq!(taken(line), made, "{line}");
        }
    }
}
